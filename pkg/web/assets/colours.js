// Colours of modes on the page as it is: light, dark, or on paper.

let printing = false;
const looks = new Set();

/** whenLooksChange has a part drawn again for another scheme and for paper. */
export function whenLooksChange(ctx, draw) {
  looks.add({ ctx, draw });
}
const again = () => { known = {}; for (const l of looks) if (l.ctx.gone) looks.delete(l); else l.draw(); };
addEventListener("beforeprint", () => { printing = true; again(); });
addEventListener("afterprint", () => { printing = false; again(); });
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);

/** printed says whether the sheet is being printed. */
export const printed = () => printing;
export const isDark = () => !printing && matchMedia("(prefers-color-scheme: dark)").matches;
/** colour is that of a line. */
export const colour = (line) => (isDark() ? line.dark : line.light);
const onPaper = { "--ink": "#000000", "--soft": "#444444", "--hair": "#bbbbbb", "--paper": "#ffffff", "--rule": "#000000" };
/** role is a colour of the sheet by its name. */
export const role = (name) => (printing ? onPaper[name] : known[name] ??= getComputedStyle(document.documentElement).getPropertyValue(name).trim());
let known = {}; // asking makes the page's style, so each is asked for once
/** faded is a colour #rrggbb with an opacity. */
export const faded = (hex, opacity) => hex + Math.round(255 * opacity).toString(16).padStart(2, "0");

/** wordColour is a line's hue for words in it. */
export const wordColour = (line) => (isDark() ? line.darkWord : line.lightWord);
