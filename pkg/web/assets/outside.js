// Times of a light gate, a slip or a film beside those of the logs.
import { h, replace, part, plural, say, sentence, wide } from "./dom.js";
import { get } from "./api.js";
import { asCommand } from "./command.js";
import { draw } from "./table.js";

export function outside(ctx) {
  const body = h("div", {});
  const el = part("outside", "Outside times", "", body, asCommand(ctx, () => "check"));
  el.hidden = true;
  let shown = "";
  return { el, async update(v) {
    const mark = v.revision + "/" + v.runs.length + "/" + v.pending;
    if (mark === shown || v.pending) return;
    shown = mark;
    try {
      const d = await get(ctx.base + "/outside");
      if (ctx.gone) return;
      el.hidden = !d.table;
      if (!d.table) return;
      el.querySelector(".says").textContent = plural(d.table.rows.length, "time");
      replace(body, h("p", { class: "soft" }, d.note), wide("Outside times", draw(d.table, "outside")), h("ul", {}, d.lines.map((t) => h("li", {}, sentence(t)))));
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  } };
}
