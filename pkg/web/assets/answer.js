// The answer: the verdict in words, and a line for each mode with its runs on one scale.
import { h, s, replace, sentence, press, leadTo, plural } from "./dom.js";
import { get } from "./api.js";
import { colour, wordColour, whenLooksChange } from "./colours.js";

const WIDE = 280; // px of a strip
const mostWords = 240; // characters of verdicts that stand there at once; the others unfold

export function answer(ctx) {
  const verdict = h("div", { id: "verdict" });
  const place = h("div", { id: "front" });
  const el = h("section", { class: "answer", "aria-label": "The answer" }, verdict, place);
  let timer = 0, data = null;

  const load = async () => {
    timer = 0;
    try {
      data = await get(ctx.base + "/front");
      if (ctx.gone) return;
      ctx.front = data;
      show();
      ctx.each((p) => p.front?.(data));
    } catch (e) { if (!ctx.gone) ctx.lost(e); }
  };
  const show = () => {
    if (!data) return;
    replace(verdict, words(ctx, data));
    replace(place, data.modes.length && data.targets.length ? table(ctx, data) : null);
  };
  whenLooksChange(ctx, show);
  return { el, update(v) { if (v.pending && timer) return; clearTimeout(timer); timer = setTimeout(load, v.pending ? 1200 : 60); } };
}

/** words are the verdicts as the report prints them; of many pairs the first, and then all. */
function words(ctx, d) {
  const v = ctx.view;
  if (v.pending) return h("p", { class: "verdict" }, `${plural(v.pending, "log")} still to be read.`);
  if (!d.answer) return [h("p", { class: "verdict" }, d.words.alone ? d.words.alone : v.runs.length ? plural(v.runs.length, "run") + " in " + plural(v.logs.length, "log") + "." : v.logs.length ? "No run was found in the logs." : "No log yet."),
    d.why ? h("p", { class: "second" }, sentence(d.why[0].toUpperCase() + d.why.slice(1))) : null];
  let length = 0;
  const fit = d.answer.verdicts.filter((t, i) => (length += t.length) <= mostWords || i === 0).length;
  const begun = (t) => (d.modes.some((m) => t.startsWith(m.called)) ? t : t[0].toUpperCase() + t.slice(1));
  const all = d.answer.verdicts.map((t) => h("span", {}, sentence(begun(t)))), first = all.slice(0, fit);
  return [h("p", { class: "verdict" }, first), all.length > first.length ? h("details", {}, h("summary", {}, plural(all.length - first.length, "more pair")), h("p", { class: "second" }, all.slice(first.length))) : null,
    h("p", { class: "second" }, d.words.decides + " ", d.answer.notes[0] || null, " ", press("More of this comparison", () => leadTo("compare")))];
}

/** withoutRest lets a narrow window leave out the words on the rows that it leaves out. */
const withoutRest = (text) => text.split(/(; beneath, from rest)/).map((t, i) => (i % 2 ? h("span", { class: "pm" }, t) : t));

function table(ctx, d) {
  const scale = scaleOf(d);
  const head = h("tr", {}, h("th", { scope: "col" }, "mode"), h("th", { scope: "col", class: "n cnt" }, "runs"),
    d.heads.map((t, i) => placed(i, h("th", { scope: "col", class: "n", colspan: "2" }, t, h("span", { class: "unit" }, ", s")))),
    h("th", { scope: "col", class: "d" }, d.words.strip, h("span", { class: "unit" }, ", s")));
  const out = h("table", { class: "modes" },
    h("caption", { class: "vh" }, d.words.caption),
    h("thead", {}, head),
    d.modes.map((m) => body(ctx, d, m, scale)),
    h("tfoot", {}, h("tr", {},
      h("td", { colspan: String(2 + 2 * d.targets.length), class: "unit" }, withoutRest(d.words.beneath), " ", press("Other targets", () => leadTo("form-at")), " ", ctx.copyFront ? press("Copy", () => ctx.copyFront(d), { id: "copy-front" }) : null),
      h("td", { class: "d" }, axis(scale)))));
  out.style.setProperty("--cols", d.targets.length);
  return out;
}

function body(ctx, d, m, scale) {
  const line = ctx.view.lines.modes.find((l) => l.mode === m.name);
  const name = h("b", {}, m.called);
  if (line) name.style.color = wordColour(line);
  const cells = (k) => d.targets.map((_, i) => {
    const t = m.times[i][k];
    return [placed(i, h("td", { class: "n" + (k === 0 && i === d.primary ? " p" : "") }, t.v || "–")), placed(i, h("td", { class: "pm" }, t.h ? "± " + t.h : "", t.v && t.n !== m.counted ? h("span", { class: "vh" }, ` of ${t.n} runs`) : null))];
  });
  return h("tbody", {},
    h("tr", { class: "lead" }, h("th", { scope: "row", rowspan: "2" }, key(line), name, m.says ? h("small", {}, m.says) : null),
      h("td", { class: "n cnt", rowspan: "2" }, String(m.counted), h("span", { class: "ph" }, " runs", m.out ? ", " : ""), m.out ? h("small", {}, `${m.out} out`) : null), cells(0),
      h("td", { class: "d", rowspan: "2" }, strip(d, m, line, scale))),
    h("tr", { class: "rest" }, cells(1)));
}

/** placed gives a cell its column, for windows that are too narrow for a table. */
function placed(i, cell) {
  cell.style.setProperty("--at", 2 + i);
  return cell;
}

/** key is the line of a mode as the figure has it. */
export function key(line, w = 30) {
  const el = s("svg", { class: "key", width: w, height: 8, viewBox: `0 0 ${w} 8`, "aria-hidden": "true" });
  const p = s("path", { d: `M1 4H${w - 1}`, "stroke-width": 2.8, fill: "none", "stroke-dasharray": line?.dash.join(" ") || null });
  p.style.stroke = line ? colour(line) : "var(--soft)";
  el.append(p);
  return el;
}

/** scaleOf is one scale for the runs of all modes. */
function scaleOf(d) {
  const { lo, hi, ticks } = d.scale;
  return ticks.length ? { X: (x) => +(6 + (x - lo) / (hi - lo) * (WIDE - 12)).toFixed(1), ticks } : null;
}

function axis(scale) {
  return !scale ? null : s("svg", { width: WIDE, height: 15, viewBox: `0 0 ${WIDE} 15`, "aria-hidden": "true" },
    scale.ticks.map((t) => s("text", { class: "ax", x: scale.X(t), y: 11, "text-anchor": "middle" }, String(t))));
}

/** mark is that of a run: a disc the first way, a ring the other, a cross left out. */
export function mark(x, y, r, counted, way, line) {
  const c = line ? colour(line) : "var(--soft)";
  const el = !counted ? s("path", { d: `M${x - r} ${y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}`, fill: "none", "stroke-width": 1.5 })
    : s("circle", { cx: x, cy: y, r, class: way ? "ring" : "disc" });
  if (counted && !way) el.style.fill = c; else el.style.stroke = c;
  return el;
}

/** strip is a mode's mean with its interval, and its runs beneath; what would cover each
 *  other is stacked, and many runs are ticks. */
function strip(d, m, line, scale) {
  if (!scale) return null;
  const many = m.runs.length > 40, r = m.runs.length > 12 ? 2 : 3.1, lanes = [];
  const placed = [...m.runs].sort((a, b) => a.x - b.x).map((run) => { // in lanes, so that none covers another
    const x = scale.X(run.x);
    let lane = lanes.findIndex((last) => x - last >= 2 * r + 0.5);
    if (lane < 0) lane = lanes.length < 4 ? lanes.length : 0;
    lanes[lane] = x;
    return { run, x, y: 21 + lane * (2 * r + 0.8) };
  });
  const H = many ? 32 : Math.max(28, Math.ceil(21 + lanes.length * (2 * r + 0.8) - r));
  const el = s("svg", { width: WIDE, height: H, viewBox: `0 0 ${WIDE} ${H}`, role: "img", "aria-label": `${m.called}: the mean with its interval, and ${plural(m.runs.length, "run")} to ${d.heads[d.primary]}` });
  for (const t of scale.ticks) el.append(s("path", { class: "grid", d: `M${scale.X(t)} 0V${H}` }));
  const t = m.times[d.primary][d.origin === "rest" ? 1 : 0];
  if (t.x !== null && t.u95 !== null && m.counted > 1) {
    const [a, x, b] = [t.x - t.u95, t.x, t.x + t.u95].map(scale.X);
    const p = s("path", { d: `M${a} 9H${b}M${a} 5.5v7M${b} 5.5v7M${x} 3v12`, fill: "none", "stroke-width": 2 });
    p.style.stroke = line ? colour(line) : "var(--soft)";
    el.append(p);
  }
  for (const { run, x, y } of placed) {
    if (many) {
      const p = s("path", { d: `M${x} 18v12`, "stroke-width": 1, opacity: run.counted ? 0.5 : 1 });
      p.style.stroke = line && run.counted ? colour(line) : "var(--soft)";
      el.append(p);
      continue;
    }
    el.append(mark(x, y, r, run.counted, run.way, line));
  }
  return el;
}
