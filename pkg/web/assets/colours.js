// Colours of modes on the page as it is: light, dark, or on paper.

let printing = false;
const looks = new Set();

/** whenLooksChange has a part drawn again for another scheme and for paper. */
export function whenLooksChange(ctx, draw) {
  looks.add({ ctx, draw });
}
const again = () => { for (const l of looks) if (l.ctx.gone) looks.delete(l); else l.draw(); };
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
export const role = (name) => (printing ? onPaper[name] : getComputedStyle(document.documentElement).getPropertyValue(name).trim());
/** faded is a colour #rrggbb with an opacity. */
export const faded = (hex, opacity) => hex + Math.round(255 * opacity).toString(16).padStart(2, "0");

const parts = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
const light = (hex) => {
  const [r, g, b] = parts(hex).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const contrast = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };

/** wordColour is a line's hue, darkened or lightened until words in it can be read: a
 *  contrast of 4.5 with the paper, WCAG 2.2, 1.4.3, and a little more. */
export function wordColour(line) {
  const paper = isDark() ? "#191a1c" : "#fbfaf5", to = isDark() ? 255 : 0;
  let hex = colour(line);
  for (let k = 0; contrast(hex, paper) < 5 && k < 40; k++) {
    hex = "#" + parts(hex).map((v) => Math.round(v + (to - v) * 0.06).toString(16).padStart(2, "0")).join("");
  }
  return hex;
}
