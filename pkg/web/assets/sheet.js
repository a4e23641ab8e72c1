// The session sheet as text: the advanced view of all that the blanks say.
import { h, replace, say, part } from "./dom.js";
import { get, post } from "./api.js";
import { keep, kept, forget } from "./typed.js";
import { staysFor } from "./uploads.js";

export function sheet(ctx) {
  const area = h("textarea", { id: "sheet-text", spellcheck: "false", rows: "18", autocomplete: "off", oninput: () => { dirty = true; keep(ctx.id, "sheet", area.value, base); } });
  const bad = h("p", { class: "note", role: "alert", hidden: true });
  const merge = h("div", { id: "merge", hidden: true });
  let base = 0, dirty = false, shown = "", theirs = "";
  ctx.onleave.push(staysFor(() => dirty && !kept(ctx.id, "sheet")));

  const load = async () => {
    try {
      const r = await get(ctx.base + "/sheet");
      if (ctx.gone) return;
      const own = kept(ctx.id, "sheet");
      theirs = r.text;
      if (own && own.value !== r.text && !dirty) { area.value = own.value; base = own.was; dirty = true; } // typed before a reload
      if (dirty) { if (base !== r.revision) compare(r); return; }
      area.value = r.text;
      base = r.revision;
      bad.hidden = merge.hidden = true;
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  };

  const save = async () => {
    try {
      const v = await post(ctx.base + "/edit", { op: "sheet", base, text: area.value });
      done();
      ctx.take(v);
      load();
      say("The sheet is kept.");
    } catch (e) {
      if (e.status === 409) return load();
      bad.hidden = false;
      bad.textContent = e.status ? e.message : "Not with the server yet; kept in this browser.";
      const line = e.message.match(/:(\d+):|line (\d+)/);
      if (line) select(+(line[1] || line[2]));
    }
  };
  const done = () => { dirty = false; forget(ctx.id, "sheet"); merge.hidden = bad.hidden = true; };

  /** select marks a line of the text, from 1. */
  const select = (n) => {
    const lines = area.value.split("\n"), at = lines.slice(0, n - 1).reduce((k, l) => k + l.length + 1, 0);
    area.focus();
    area.setSelectionRange(at, at + (lines[n - 1] || "").length);
  };

  /** compare shows the text here beside the one that another page kept meanwhile. */
  function compare(r) {
    const mine = area.value.split("\n"), other = r.text.split("\n");
    const view = (lines, of) => h("pre", { tabindex: "0" }, lines.map((l) => [of.includes(l) ? l : h("mark", {}, l), "\n"]));
    replace(merge, h("p", {}, "The sheet was changed meanwhile. Lines that differ are marked; neither is lost until you choose."),
      h("div", { class: "merge" }, h("div", {}, h("b", {}, "kept by the server"), view(other, mine)), h("div", {}, h("b", {}, "yours"), view(mine, other))),
      h("p", { class: "row" }, h("button", { type: "button", id: "merge-theirs", onclick: () => { done(); area.value = r.text; base = r.revision; } }, "Take up theirs"),
        h("button", { type: "button", id: "merge-mine", onclick: () => { base = r.revision; merge.hidden = true; keep(ctx.id, "sheet", area.value, base); say("Yours stands in the field; put in what it lacks and keep it."); } }, "Go on with mine")));
    merge.hidden = false;
    el.open = true;
  }

  /** draftSheet puts a text into the field without keeping it. */
  ctx.draftSheet = (text) => { area.value = text; dirty = true; keep(ctx.id, "sheet", text, base); compare({ text: theirs, revision: base }); el.scrollIntoView({ block: "start" }); };

  const el = part("sheet", "The sheet as text", "TOML, for the commands too",
    h("p", { class: "soft" }, "All that was said above, in one file that the commands take with --sheet. Every state of it is kept."),
    h("label", { for: "sheet-text", class: "soft" }, "Sheet as text (TOML)"), area, bad, merge,
    h("p", { class: "row" },
      h("button", { type: "button", class: "main", onclick: save }, "Keep the changes"),
      h("button", { type: "button", onclick: () => { done(); load(); } }, "Take up the kept sheet"),
      h("a", { class: "button", href: `${ctx.base}/sheet?download=1`, download: "session.toml" }, "Save as session.toml")));
  return {
    el, nav: "Sheet",
    update(v) {
      const mark = v.revision + "/" + (v.revision ? 0 : v.runs.length);
      if (mark !== shown) { shown = mark; load(); }
    },
  };
}
