// Part 8: the session sheet as text.
import { h, say, part } from "./dom.js";
import { get, post } from "./api.js";

export function sheet(ctx) {
  const area = h("textarea", { id: "sheet-text", spellcheck: "false", rows: "16", autocomplete: "off", oninput: () => { dirty = true; } });
  const bad = h("p", { class: "note warn", role: "alert", hidden: true });
  let base = 0, dirty = false, shown = -1;
  const load = async () => {
    try {
      const r = await get(ctx.base + "/sheet");
      if (dirty || ctx.gone) return;
      area.value = r.text;
      base = r.revision;
      bad.hidden = true;
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  };
  const save = async () => {
    try {
      const v = await post(ctx.base + "/edit", { op: "sheet", base, text: area.value });
      dirty = false;
      ctx.take(v);
      load();
      say("The sheet is kept.");
    } catch (e) {
      bad.hidden = false;
      bad.textContent = e.status === 409 ? "The sheet was changed elsewhere meanwhile. Copy your text, take up the new sheet, and put it in again." : e.message;
    }
  };
  const el = part("sheet", "8", "Session sheet",
    h("p", { class: "soft" }, "All that was said above, in one file that the commands take with --sheet. Every state of it is kept."),
    h("label", { for: "sheet-text", class: "over" }, "Sheet as text (TOML)"), area, bad,
    h("p", { class: "row" },
      h("button", { type: "button", class: "main", onclick: save }, "Keep the changes"),
      h("button", { type: "button", onclick: () => { dirty = false; load(); } }, "Take up the kept sheet"),
      h("a", { class: "button", href: `${ctx.base}/sheet?download=1`, download: "session.toml" }, "Save as session.toml")));
  return {
    el, nav: "Sheet",
    update(v) {
      const mark = v.revision + "/" + (v.revision ? 0 : v.runs.length);
      if (mark !== shown) { shown = mark; load(); }
    },
  };
}
