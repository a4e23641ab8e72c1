// Every target: the timing table of runs or of modes, its columns chosen and sorted.
import { asCommand } from "./command.js";
import { h, num, replace, say, plural, inSlices, part, wide, save } from "./dom.js";
import { get } from "./api.js";
import { query, remember } from "./address.js";
import { copy } from "./clip.js";

export function table(ctx) {
  const q = query();
  const place = wide("Timing table");
  const notes = h("ol", { class: "footnotes" });
  const more = h("p", { class: "soft" });
  const choice = (id, options, value) => { const el = h("select", { id, onchange: () => { keepChoice(); links(); for (const f of ctx.commands) f(); load(); } }, options.map(([v, t]) => h("option", { value: v }, t))); el.value = value; return el; };
  const of = choice("table-of", [["runs", "each run"], ["modes", "means of modes"]], q.get("table") === "modes" ? "modes" : "runs");
  const sort = choice("table-sort", [["launch", "by launch"], ["mode", "by mode"], ["quick", "the quickest first"]], ["mode", "quick"].includes(q.get("sort")) ? q.get("sort") : "launch");
  const hidden = new Set((q.get("cols") || "").split("\u0001").filter(Boolean)); // columns left out, by name
  const columns = h("fieldset", { class: "cols" });
  const saves = h("span", { class: "row" });
  const links = () => replace(saves, ctx.limits.exports.filter(([f]) => f.startsWith(of.value + ".")).map(([f, t]) => save(`${ctx.base}/export/${f}`, t, "link")));
  const keepChoice = () => remember({ table: of.value === "runs" ? "" : of.value, sort: sort.value === "launch" ? "" : sort.value, cols: [...hidden].join("\u0001") });
  const line = asCommand(ctx, () => (of.value === "runs" ? "table --by run" : "table"));
  const el = part("table", "Every target", "",
    h("p", { class: "row" }, h("label", { for: "table-of" }, "Columns are"), of, h("label", { for: "table-sort" }, "sorted"), sort,
      h("button", { type: "button", id: "copy-table", onclick: () => copy(data && toCopy(data)) }, "Copy the table")),
    h("details", {}, h("summary", { class: "soft" }, "Columns to show"), columns), place, more, notes,
    h("p", { class: "row" }, h("span", { class: "soft" }, "Save as"), saves), line);
  links();
  let timer = 0, data = null;

  const load = async () => {
    timer = 0;
    try {
      const r = await get(ctx.base + "/table?of=" + of.value);
      if (ctx.gone) return;
      data = r;
      more.textContent = r.shown < r.runs ? `The first ${r.shown} of ${plural(r.runs, "run")}; the exports have all.` : "";
      more.hidden = !more.textContent;
      el.querySelector(".says").textContent = r.table.rows.length ? plural(r.table.rows.length, "row") : "";
      show();
      ctx.method?.(r);
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  };

  /** arranged is the table with its columns chosen and in their order. */
  const arranged = () => {
    const t = data.table, at = t.columns.map((_, i) => i).filter((i) => !hidden.has(t.columns[i].name));
    const modeRow = t.rows.find((r) => r.name === "mode"), lead = ctx.front ? ctx.front.targets[ctx.front.primary] : "";
    const timeRow = t.rows.find((r) => r.name === lead && r.section === "with rollout") || t.rows.find((r) => r.unit === "s");
    const mode = (i) => modeRow?.cells[i].v || t.columns[i].name, time = (i) => (timeRow?.cells[i].n ? +timeRow.cells[i].v : Infinity);
    const order = (m) => ctx.view.modes.indexOf(m);
    if (sort.value === "mode") at.sort((a, b) => order(mode(a)) - order(mode(b)) || a - b);
    if (sort.value === "quick") at.sort((a, b) => t.columns[a].struck - t.columns[b].struck || time(a) - time(b) || a - b);
    return { ...t, columns: at.map((i) => t.columns[i]), rows: t.rows.map((r) => ({ ...r, cells: at.map((i) => r.cells[i]) })) };
  };

  const show = () => {
    const all = data.table.columns;
    replace(columns, h("legend", {}, "Columns"), all.map((c, i) => {
      const box = h("input", { type: "checkbox", id: "col-" + i, checked: !hidden.has(c.name), onchange: () => { if (box.checked) hidden.delete(c.name); else hidden.add(c.name); keepChoice(); show(); } });
      return h("label", { for: box.id }, box, " ", c.name);
    }));
    replace(place, all.length ? draw(arranged()) : h("p", { class: "soft" }, "The table fills as runs are found."));
    replace(notes, data.table.notes.map((n, i) => h("li", { id: "fn-" + i }, `[${i + 1}] ${n}`)));
  };

  const toCopy = () => {
    const t = arranged();
    return { head: ["", ...t.columns.map((c) => c.name + (c.struck ? " (not counted)" : ""))], notes: data.table.notes,
      rows: t.rows.map((r) => [[r.section === "run" ? "" : r.section, r.name + (r.unit && r.unit !== "s" ? ", " + r.unit : r.unit === "s" ? ", s" : "")].filter(Boolean).join(": "),
        ...r.cells.map((c) => (c.n || c.f ? { v: c.v, h: c.h, n: (c.f || []).map((n) => n + 1) } : c.v))]) };
  };

  /** copyFront is for the table of modes at the top. */
  ctx.copyFront = (f) => copy({ notes: ["Seconds. ± is half of the 95 % interval. Means of modes, two-way where both directions were driven."],
    head: ["mode", "counted", "left out", ...f.heads.map((t) => t + " with rollout, s"), ...f.heads.map((t) => t + " from rest, s")],
    rows: f.modes.map((m) => [m.called, String(m.counted), String(m.out), ...[0, 1].flatMap((k) => f.targets.map((_, i) => ({ v: m.times[i][k].v, h: m.times[i][k].h })))]) });

  return { el, nav: "Every target", front: () => data && show(), update(v) { if (v.pending && timer) return; clearTimeout(timer); timer = setTimeout(load, v.pending ? 4000 : 150); } };
}

/** draw is a table of the report, drawn a few rows at a time. */
export function draw(t, key = "table") {
  const out = h("table", { class: "ruled timing" }, h("thead", {}, h("tr", {}, h("td", {}),
    t.columns.map((c) => !c.name ? h("td", {}) : h("th", { scope: "col", class: c.struck ? "struck" : "" }, c.struck ? h("s", {}, c.name) : c.name,
      c.struck ? h("span", { class: "soft" }, " not counted") : null)))));
  let section = null, body = null;
  inSlices(key, t.rows, (r) => {
    if (r.section !== section) {
      section = r.section;
      body = h("tbody", {}, section === "run" || !section ? null : h("tr", { class: "section" }, h("th", { scope: "rowgroup", colspan: String(t.columns.length + 1) }, section)));
      out.append(body);
    }
    body.append(h("tr", {}, h("th", { scope: "row" }, r.name, r.unit && r.unit !== "s" ? h("span", { class: "soft" }, " " + r.unit) : null),
      r.cells.map((c, i) => h("td", { class: (c.n ? "r" : "") + (t.columns[i].struck ? " struck" : "") },
        c.n ? num(c.v, c.h || "") : c.v, (c.f || []).map((n) => h("span", { class: "soft fn" }, ` [${n + 1}]`))))));
  }, 12);
  return out;
}
