// Which mode is quicker, by how much, and whether the runs can tell.
import { asCommand } from "./command.js";
import { h, s, num, replace, say, part, wide, save, sentence, plural } from "./dom.js";
import { get } from "./api.js";
import { copy, plainTable } from "./clip.js";
import { colour, whenLooksChange } from "./colours.js";

const origin = { rest: "from rest", rollout: "with rollout" };

export function compare(ctx) {
  const pick = h("select", { id: "cmp-target", onchange: () => { chosen = pick.value; show(); } });
  const pickRow = h("p", { class: "row" }, h("label", { for: "cmp-target" }, "At"), pick);
  const body = h("div", {});
  const el = part("compare", "Modes compared", "", body, asCommand(ctx, () => (data?.targets.length ? "compare" : "")));
  el.addEventListener("toggle", () => { if (el.open && data) show(); });
  let data = null, chosen = "", timer = 0;

  const load = async () => {
    try {
      data = await get(ctx.base + "/compare");
      if (ctx.gone) return;
      const keys = data.targets.map((t) => t.name + "|" + t.from);
      if (!keys.includes(chosen)) chosen = [data.primary, keys[0]].find((k) => keys.includes(k)) || "";
      replace(pick, data.targets.map((t) => h("option", { value: t.name + "|" + t.from }, `${t.name}, ${origin[t.from] || t.from}`)));
      pick.value = chosen;
      el.querySelector(".says").textContent = data.targets.length ? plural(data.targets[0].pairs.length, "pair") + " at " + plural(data.targets.length, "place") : "";
      show();
      for (const f of ctx.commands) f();
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  };

  const show = () => {
    pickRow.hidden = !data.targets.length;
    const t = data.targets.find((t) => t.name + "|" + t.from === chosen);
    if (!t) return replace(body, pickRow, h("p", { class: "soft" }, data.why ? sentence(data.why) : "Two modes with counted runs can be compared."));
    const open = body.querySelector("details")?.open;
    replace(body,
      h("ul", { class: "warnings" }, data.warnings.map((w) => h("li", {}, sentence(w)))),
      answer(data.answer), pickRow, figure(t, el.open ? body.clientWidth : 0, ctx.view.lines), modes(t), pairs(data),
      data.primary === chosen ? null : h("ul", { class: "warnings" }, t.warnings.map((w) => h("li", {}, sentence(w)))),
      h("p", { class: "row" }, h("button", { type: "button", onclick: () => copy(plainTable(el.querySelector(".means"))) }, "Copy the modes"),
        h("button", { type: "button", onclick: () => copy(plainTable(pairRows(data))) }, "Copy the differences"),
        ...ctx.compareExports.map(([f, t]) => save(`${ctx.base}/export/${f}`, t))));
    if (open) body.querySelector("details").open = true;
  };
  const again = () => { if (data && !ctx.gone) show(); };
  addEventListener("resize", again);
  whenLooksChange(ctx, again);
  return { el, nav: "Modes compared", update(v) { if (v.pending && v.runs.length > 100) return; clearTimeout(timer); timer = setTimeout(load, v.pending ? 1500 : 200); } };
}

/** answer is the verdict of each pair at the target that decides, and what else the runs say there. */
function answer(a) {
  if (!a) return null;
  const line = (x) => h("p", {}, sentence(x));
  return h("div", { class: "answer" }, h("p", { class: "soft" }, `At ${a.place}, which decides:`), h("div", { class: "verdicts" }, a.verdicts.map(line)),
    h("ul", { class: "warnings" }, a.warnings.map((w) => h("li", {}, w))), a.notes.map((n) => h("p", {}, n)), h("p", { class: "soft" }, a.model));
}

function modes(t) {
  const r = (k) => h("td", { class: "r" }, k);
  return wide("Modes", h("table", { class: "ruled means" },
    h("thead", {}, h("tr", {}, ["Mode", "Counted runs", "Mean, s", "Standard deviation, s", "Best, s", "Two-way mean, s"].map((x, i) => h("th", { scope: "col", class: i ? "r" : "" }, x)))),
    h("tbody", {}, t.modes.map((m) => h("tr", {}, h("th", { scope: "row" }, m.name), r(String(m.n) + (m.left ? ` (${m.left} not)` : "")),
      r(num(m.mean.v, m.mean.h || "")), r(num(m.sd)), r(num(m.best)), r(num(m.twoway.v, m.twoway.h || "")))))));
}

const words = { "a quicker": (p) => p.a + " quicker", "b quicker": (p) => p.b + " quicker" };

/** pairs lists the differences at every target, once somebody opens them. */
function pairs(data) {
  const box = h("details", { ontoggle: () => { if (box.open && box.children.length < 2) box.append(wide("Differences", pairRows(data))); } },
    h("summary", {}, `Differences at every target (${data.targets.reduce((n, t) => n + t.pairs.length, 0)})`));
  return box;
}

function pairRows(data) {
  return h("table", { class: "ruled pairs" },
    h("thead", {}, h("tr", {}, ["Target", "Modes", "Difference, s", "Verdict"].map((x, i) => h("th", { scope: "col", class: i === 2 ? "r" : "" }, x)))),
    h("tbody", {}, data.targets.flatMap((t) => t.pairs.map((p) => h("tr", {}, h("th", { scope: "row" }, `${t.name}, ${origin[t.from] || t.from}`), h("td", {}, `${p.a} − ${p.b}`),
      h("td", { class: "r" }, num(p.difference.v, p.difference.h || "")), h("td", {}, words[p.verdict] ? words[p.verdict](p) : p.verdict))))));
}

/** figure draws each run as a dot and each mode's mean with its interval. */
function figure(t, room, lines) {
  const W = Math.min(720, Math.max(280, room || 720)), row = 46, left = W < 500 ? 84 : 130, right = 20, H = row * t.modes.length + 44;
  let lo = Infinity, hi = -Infinity;
  for (const r of t.runs) { lo = Math.min(lo, r.x); hi = Math.max(hi, r.x); }
  for (const m of t.modes) if (m.n && m.u95 !== null) { lo = Math.min(lo, m.x - m.u95); hi = Math.max(hi, m.x + m.u95); }
  if (!(hi >= lo)) return null;
  const pad = (hi - lo) * 0.05 || 0.1;
  lo -= pad;
  hi += pad;
  const X = (x) => (left + (x - lo) / (hi - lo) * (W - left - right)).toFixed(1);
  const el = s("svg", { class: "dots", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `Runs and means of each mode, ${t.name} ${origin[t.from] || t.from}; the numbers stand in the table below` });
  const step = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20].find((k) => (hi - lo) / k <= W / 80) || 50;
  for (let k = Math.ceil(lo / step); k * step <= hi; k++) {
    const x = X(k * step);
    el.append(s("line", { x1: x, x2: x, y1: 0, y2: H - 38, class: "grid" }), s("text", { x, y: H - 22, "text-anchor": "middle" }, String(+(k * step).toFixed(2))));
  }
  el.append(s("text", { x: W - right, y: H - 4, "text-anchor": "end" }, "time, s"));
  t.modes.forEach((m, i) => {
    const y = i * row + row / 2;
    const most = W < 500 ? 9 : 16;
    el.append(s("text", { x: 0, y: y + 5 }, m.name.length > most ? m.name.slice(0, most - 1) + "…" : m.name));
    const line = lines.modes.find((l) => l.mode === m.name);
    const paint = (shape, ...what) => { if (line) for (const w of what) shape.style[w] = colour(line); return shape; };
    if (m.n && m.u95 !== null) el.append(...[s("line", { x1: X(m.x - m.u95), x2: X(m.x + m.u95), y1: y - 7, y2: y - 7, class: "interval" }), s("line", { x1: X(m.x), x2: X(m.x), y1: y - 14, y2: y, class: "interval" })].map((l) => paint(l, "stroke")));
    for (const r of t.runs.filter((r) => r.mode === m.name)) el.append(r.counted ? paint(s("circle", { cx: X(r.x), cy: y + 8, r: 4.5, class: "dot" }), "fill", "stroke") : s("circle", { cx: X(r.x), cy: y + 8, r: 4.5, class: "dot not" }));
  });
  return h("figure", {}, el, h("figcaption", { class: "soft" }, "Dots are runs, hollow ones not counted; the bar above is the mode’s mean with its 95 % interval."));
}
