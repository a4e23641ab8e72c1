// Part 4: the timing table.
import { h, num, replace, say, plural, inSlices, part, wide, save } from "./dom.js";
import { get } from "./api.js";

export function table(ctx) {
  const place = wide("Timing table");
  const notes = h("ol", { class: "footnotes" });
  const more = h("p", { class: "soft" });
  const of = h("select", { id: "table-of", onchange: () => { links(); load(); } }, h("option", { value: "runs" }, "each run"), h("option", { value: "modes" }, "means of modes"));
  const saves = h("span", { class: "row" });
  const links = () => replace(saves, ctx.limits.exports.filter(([f]) => f.startsWith(of.value + "."))
    .map(([f, t]) => save(`${ctx.base}/export/${f}`, t)));
  const el = part("table", "4", "Timing table",
    h("p", { class: "row" }, h("label", { for: "table-of" }, "Columns are"), of,
      h("button", { type: "button", id: "copy-table", onclick: () => copy(place.querySelector("table")) }, "Copy the table"), saves),
    place, more, notes);
  links();
  let timer = 0;
  const load = async () => {
    timer = 0;
    try {
      const r = await get(ctx.base + "/table?of=" + of.value);
      if (ctx.gone) return;
      more.textContent = r.shown < r.runs ? `The first ${r.shown} of ${plural(r.runs, "run")}; the exports have all.` : "";
      more.hidden = !more.textContent;
      replace(place, r.table.columns.length ? draw(r.table) : h("p", { class: "soft" }, "The table fills as runs are found."));
      replace(notes, r.table.notes.map((n, i) => h("li", { id: "fn-" + i }, n)));
      ctx.method?.(r);
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  };
  return { el, nav: "Table", update(v) { if (v.pending && timer) return; clearTimeout(timer); timer = setTimeout(load, v.pending ? 4000 : 150); } };
}

function draw(t) {
  const out = h("table", { class: "ruled timing" }, h("thead", {}, h("tr", {}, h("td", {}),
    t.columns.map((c) => h("th", { scope: "col", class: c.struck ? "struck" : "" }, c.struck ? h("s", {}, c.name) : c.name,
      c.struck ? h("span", { class: "soft" }, " not counted") : null)))));
  let section = null, body = null;
  inSlices("table", t.rows, (r) => {
    if (r.section !== section) {
      section = r.section;
      body = h("tbody", {}, section === "run" ? null : h("tr", { class: "section" }, h("th", { scope: "rowgroup", colspan: String(t.columns.length + 1) }, section)));
      out.append(body);
    }
    body.append(h("tr", {}, h("th", { scope: "row" }, r.name, r.unit && r.unit !== "s" ? h("span", { class: "soft" }, " " + r.unit) : null),
      r.cells.map((c, i) => h("td", { class: (c.n ? "r" : "") + (t.columns[i].struck ? " struck" : "") },
        c.n ? num(c.v, c.h || "") : c.v, (c.f || []).map((n) => h("sup", {}, String(n + 1)))))));
  }, 12);
  return out;
}

/** copy puts a table on the clipboard so that it pastes as a table into a
 *  document and as columns into a spreadsheet. */
export async function copy(tbl) {
  if (!tbl) return say("There is no table yet.", true);
  const clean = (el) => el.textContent.replace(/\s+/g, " ").trim();
  const plain = [...tbl.rows].map((r) => [...r.cells].map(clean).join("\t")).join("\n");
  const doc = document.implementation.createHTMLDocument("");
  const bare = doc.createElement("table");
  for (const r of tbl.rows) {
    const tr = doc.createElement("tr");
    for (const c of r.cells) {
      const td = doc.createElement(c.tagName);
      if (c.colSpan > 1) td.colSpan = c.colSpan;
      td.textContent = clean(c);
      tr.append(td);
    }
    bare.append(tr);
  }
  try {
    if (!navigator.clipboard?.write) throw new Error("no clipboard");
    await navigator.clipboard.write([new ClipboardItem({
      "text/html": new Blob([bare.outerHTML], { type: "text/html" }), "text/plain": new Blob([plain], { type: "text/plain" }) })]);
    say("The table is on the clipboard.");
  } catch {
    // Without leave, or on an address that is not this machine: let the browser copy a selection.
    const range = document.createRange();
    range.selectNode(tbl);
    const sel = getSelection();
    sel.removeAllRanges();
    sel.addRange(range);
    const ok = document.execCommand("copy");
    sel.removeAllRanges();
    say(ok ? "The table is on the clipboard." : "The browser does not allow copying; select the table by hand.", !ok);
  }
}
