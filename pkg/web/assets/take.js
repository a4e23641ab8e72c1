// Taking the figure away: as a picture, or as columns of every quantity that is shown.
import { h, say, download } from "./dom.js";
import { svgOf, pngOf, csvOf } from "./picture.js";

/** picture is the row of buttons; shown gives the figure as it is, null for none. */
export function picture(shown) {
  const dpi = h("select", { id: "fig-dpi", "aria-label": "Dots an inch of the PNG" }, [96, 150, 300, 600].map((d) => h("option", { value: String(d) }, d + " dpi")));
  dpi.value = "300";
  const name = (f, kind) => `figure-${f.look.by}-from-${/\d/.test(f.look.from) ? f.look.from : f.look.from}.${kind}`;
  const take = (id, text, make) => h("button", { type: "button", class: "link", id, onclick: async () => {
    const f = shown();
    if (!f) return say("There is no figure yet.", true);
    try { await make(f); } catch (e) { say(e.message, true); }
  } }, text);
  return h("span", { class: "taking" },
    take("fig-svg", "SVG", (f) => download(name(f, "svg"), new Blob([svgOf(f)], { type: "image/svg+xml" }))),
    take("fig-png", "PNG", async (f) => download(name(f, "png"), await pngOf(svgOf(f), +dpi.value / 96))), "at ", dpi,
    take("fig-copy", "copy as PNG", async (f) => {
      if (!navigator.clipboard?.write) throw new Error("The browser does not allow copying here; save the picture.");
      await navigator.clipboard.write([new ClipboardItem({ "image/png": await pngOf(svgOf(f), +dpi.value / 96) })]);
      say("The figure is on the clipboard.");
    }),
    take("fig-csv", "CSV", (f) => download(name(f, "csv"), new Blob([csvOf(f)], { type: "text/csv" }))));
}
