// The main figure: speed, with acceleration and time gained folded beneath on the same
// axis, cursor and zoom.
import { asCommand, word } from "./command.js";
import { h, s, num, replace, say, press, wide, plural, marked } from "./dom.js";
import { get } from "./api.js";
import { query, remember } from "./address.js";
import { curve, grid, lerp, meanCurve, Sampled, upTo } from "./traces.js";
import { Plot } from "./plot.js";
import { colour, printed, whenLooksChange, wordColour } from "./colours.js";
import { decorator } from "./marks.js";
import { picture } from "./take.js";

const mostDrawn = 40; // runs; of more only the means are drawn until some are ticked
const heights = { v: 282, a: 150, g: 150 }, tall = 440; // px; tall where table and figure stand side by side
const folds = { a: "Acceleration", g: "Time gained" };
const grey = { light: "#5c656e", dark: "#a3abb3", dash: [] };

export function figure(ctx) {
  const q = query();
  const look = { by: ["time", "distance", "speed"].includes(q.get("by")) ? q.get("by") : "time", from: /^(launch|\d+(\.\d+)?)$/.test(q.get("from") || "") ? q.get("from") : "rollout",
    x: (q.get("x") || "").split("_").map(Number), on: q.get("on") || "", open: (q.get("open") || "").split("").filter((k) => folds[k]) };
  if (!(look.x.length === 2 && look.x[1] > look.x[0])) look.x = null;
  const cache = new Map(), means = new Map();
  let plots = {}, drawn = null, turn = 0, known = "", at = null, room = 0;

  const caption = h("b", {});
  const by = h("span", { class: "by", role: "group", "aria-label": "How the figure is drawn" });
  const views = h("span", { class: "by", role: "group", "aria-label": "What of it is seen" });
  const boxes = { v: h("div", { class: "plot", id: "fig-v", tabindex: "0", role: "group", "aria-roledescription": "chart" }) };
  const details = {}, shapes = {};
  for (const k of ["a", "g"]) {
    boxes[k] = h("div", { class: "plot", id: "fig-" + k });
    const sum = h("summary", {}, h("span", { id: "fold-" + k }, folds[k]), shapes[k] = h("span", { class: "shape" }));
    details[k] = h("details", { class: "fold", open: look.open.includes(k), ontoggle: () => {
      look.open = Object.keys(details).filter((x) => details[x].open);
      remember({ open: look.open.join("") });
      draw();
    } }, sum, boxes[k]);
  }
  const note = h("p", { class: "line", id: "fig-note", role: "status", hidden: true });
  const readout = h("p", { class: "readout", id: "readout", "aria-live": "off" });
  const values = wide("Values at the cursor");
  const all = h("details", { class: "fold cursor-only", id: "values" }, h("summary", {}, "Every trace at the cursor"), values);
  const el = h("section", { class: "drawing", "aria-label": "Figure" }, h("figure", { id: "figure" },
    h("div", { class: "caption" }, h("figcaption", {}, caption), h("div", { class: "how" }, by, views)),
    boxes.v, readout, details.a, details.g, all, note,
    h("p", { class: "line tools" }, h("b", {}, "Take"), picture(() => drawn && { ...drawn, look, range: plots.v.range(), view: ctx.view, front: ctx.front }),
      " Drag zooms, with Shift it moves; hover lifts a line, a click hides it, a double click shows it alone. Keys: arrows move the cursor, Shift and arrows the view, + and − zoom, 0 shows all."), asCommand(ctx, drawnBy)));

  boxes.v.addEventListener("keydown", (e) => {
    const p = plots.v;
    if (!p || e.ctrlKey || e.metaKey || e.altKey) return;
    const [a, b] = p.range(), move = (d) => moved(Math.min(Math.max((at ?? (a + b) / 2) + d * (b - a), a), b), true);
    const keys = { "+": () => p.zoom(0.5), "=": () => p.zoom(0.5), "-": () => p.zoom(2), 0: () => p.reset(), ArrowLeft: () => e.shiftKey ? p.pan(-0.1) : move(-0.005), ArrowRight: () => e.shiftKey ? p.pan(0.1) : move(0.005),
      PageUp: () => move(0.05), PageDown: () => move(-0.05), Home: () => move(-2), End: () => move(2) };
    if (keys[e.key]) { e.preventDefault(); keys[e.key](); }
  });

  const choose = (key, value) => press(key === "from" && /\d/.test(value) ? "a speed" : value, () => set(key, value), { "aria-pressed": String(key === "from" && /\d/.test(value) ? /\d/.test(look.from) : look[key] === value), id: `fig-${key}-${/\d/.test(value) ? "speed" : value}` });

  function controls() {
    const u = ctx.view.units;
    const speed = h("input", { type: "number", id: "fig-speed", min: "1", max: "300", step: "1", value: /\d/.test(look.from) ? look.from : "20", "aria-label": "Speed that the runs are aligned at, " + u.name,
      onchange: () => { if (+speed.value > 0) set("from", String(+speed.value), () => { speed.value = /\d/.test(look.from) ? look.from : "20"; }); } });
    replace(by, "by ", ["time", "distance", "speed"].map((v) => choose("by", v)), " from ", choose("from", "rollout"), choose("from", "launch"), choose("from", /\d/.test(look.from) ? look.from : "20"), /\d/.test(look.from) ? h("span", {}, speed, " " + u.name) : null);
    const f = ctx.front;
    replace(views, "view", press("launch", () => see("launch"), { id: "view-launch" }), (f?.targets || []).map((t, i) => press(f.heads[i], () => see(t), { id: "view-" + i })), press("all", () => see("all"), { id: "view-all" }));
    caption.textContent = look.by === "speed" ? "Acceleration against speed" : `Speed against ${look.by}`;
    details.a.hidden = look.by === "speed";
  }

  /** drawnBy is the command that draws the same runs so; none aligns at a speed. */
  function drawnBy() {
    if (/\d/.test(look.from) || !drawn) return "";
    const only = ctx.touched ? drawn.items.filter((it) => it.run).map((it) => "--only " + word(it.run)) : [];
    return ["overlay", look.by === "speed" ? "--show acceleration" : "", look.by === "time" ? "" : "--by " + look.by, look.from === "launch" ? "--align launch" : "",
      look.x ? `-x ${look.x.map((x) => +x.toFixed(3)).join(":")}` : "", ...only, "-o overlay.svg"].filter(Boolean).join(" ");
  }

  /** set draws the figure otherwise; where it cannot be, everything stays as it was. */
  async function set(key, value, refused) {
    if (look[key] === value) return;
    const was = { ...look };
    look[key] = value;
    look.x = null;
    if (await draw()) return remember({ by: look.by === "time" ? "" : look.by, from: look.from === "rollout" ? "" : look.from, x: "" });
    Object.assign(look, was);
    refused?.();
    controls();
  }

  function see(what) {
    const p = plots.v;
    if (!p) return;
    const [lo, hi] = p.ends();
    if (what === "all") return p.reset();
    const shown = drawn.items.map((it) => it.curve);
    if (what === "launch") {
      const far = Math.max(...shown.map((c) => upTo(c, { distance: 60 * 0.3048 / ctx.view.units.distancePer }) ?? -Infinity));
      return p.show(lo, Number.isFinite(far) ? far : lo + (hi - lo) / 5);
    }
    const t = ctx.front.at[ctx.front.targets.indexOf(what)];
    const far = t ? Math.max(...shown.map((c) => upTo(c, t) ?? -Infinity)) : -Infinity;
    if (!Number.isFinite(far)) return say(`No run that is shown reaches ${what}.`, true);
    p.show(lo, far + 0.04 * (far - lo));
  }

  async function traces(ids) {
    const missing = ids.filter((id) => !cache.has(id));
    for (let i = 0; i < missing.length; i += mostDrawn) {
      for (const raw of await get(`${ctx.base}/traces?runs=${encodeURIComponent(missing.slice(i, i + mostDrawn).join("\n"))}`)) cache.set(raw.id, raw);
    }
    return ids.map((id) => cache.get(id)).filter(Boolean);
  }
  async function meansOf(by) {
    const key = `${by}|${look.from}`;
    if (!means.has(key)) means.set(key, await get(`${ctx.base}/means?by=${by}&from=${encodeURIComponent(look.from)}`));
    return means.get(key);
  }

  /** gather is what is drawn: {items, x} or a reason why not. */
  async function gather() {
    const v = ctx.view, u = v.units, o = { by: look.by, from: look.from, units: u };
    const runs = v.runs.filter((r) => ctx.picked.has(r.id)).slice(0, 3 * mostDrawn);
    const raws = await traces(runs.map((r) => r.id));
    const [along, far] = [await meansOf(look.by), await meansOf("distance")];
    const never = [], items = [];
    const lineOf = (mode, log) => v.lines.modes.find((l) => l.mode === mode) || v.lines.modes.find((l) => !mode && l.mode === log) || grey;
    const many = runs.length > 36;
    for (const raw of raws) {
      const r = runs.find((x) => x.id === raw.id);
      const c = curve(raw, { ...o, toTop: r.kind === "standing-start" });
      if (!c) { never.push(r.id); continue; }
      items.push({ key: r.id, run: r.id, mode: r.mode || (v.lines.runs[r.id] >= 0 ? v.lines.modes[v.lines.runs[r.id]].mode : ""), line: lineOf(r.mode, r.log), name: r.id + (r.mode ? ", " + r.mode : ""), short: r.id, way: r.way, counted: r.counted, curve: c, width: 1, opacity: many ? 0.3 : r.counted ? 0.7 : 0.45, dash: r.counted ? [] : [2, 2] });
    }
    for (const m of along) {
      if (ctx.hiddenModes.has(m.mode)) continue;
      items.push({ key: "mean of " + m.mode, mean: true, n: m.n, mode: m.mode, line: lineOf(m.mode), name: `mean of ${m.mode}, ${plural(m.n, "run")}`, short: m.mode, curve: meanCurve(m, far.find((x) => x.mode === m.mode), look.by), width: 2.8, opacity: 1, dash: lineOf(m.mode).dash, named: true });
    }
    if (!items.some((it) => it.mean)) for (const it of items) it.named = items.length <= 8;
    const x = grid(items.map((it) => it.curve), look.by);
    return { items, never, x };
  }

  async function draw() {
    const mine = ++turn;
    let got;
    try { got = await gather(); } catch (e) { if (!ctx.gone) ctx.lost(e); return false; }
    if (mine !== turn || ctx.gone) return true;
    const u = ctx.view.units, aligned = /\d/.test(look.from) ? `${look.from} ${u.name}` : look.from;
    if (got.never.length && !got.items.length) { say(`No run that is shown reaches ${aligned}; the figure stays as it was.`, true); return false; }
    note.hidden = !got.never.length;
    note.textContent = got.never.length ? `Left out, never at ${aligned}: ${got.never.join("; ")}.` : "";
    el.hidden = !got.x.length;
    room = boxes.v.clientWidth; // asked for once: each asking lays the page out
    controls();
    for (const p of Object.values(plots)) p.destroy();
    plots = {};
    if (!got.x.length) { drawn = null; return true; }
    const refs = got.items.filter((it) => it.curve.along);
    const ref = refs.find((it) => it.key === look.on) || refs.find((it) => it.mean) || refs[0];
    for (const it of got.items) { it.on = new Sampled(it.curve, got.x); it.column = (k) => (k === "g" ? it.on.gain(ref?.curve.along) : it.on[k]); }
    const xName = look.by === "speed" ? "speed, " + u.name : look.by === "time" ? `time from ${aligned}, s` : `distance from ${aligned}, ${u.distance}`;
    drawn = { ...got, ref, xName, names: { v: "speed, " + u.name, a: "acceleration, g", g: ref ? `time gained on ${ref.mean ? ref.mode : ref.name}, s` : "time gained, s" } };
    const main = look.by === "speed" ? "a" : "v";
    drawn.shown = [main, ...["a", "g"].filter((k) => k !== main && details[k].open)];
    plot("v", main);
    for (const k of ["a", "g"]) {
      replace(shapes[k], details[k].open || k === main ? null : shape(drawn, k, room));
      if (k !== main && details[k].open) plot(k, k);
    }
    reference(refs, ref);
    const names = got.items.filter((it) => it.mean).map((it) => it.name).concat(plural(got.items.filter((it) => it.run).length, "run"));
    boxes.v.setAttribute("aria-label", marked(`${drawn.names[main]} against ${xName} of ${names.join("; ")}. What the cursor reads stands beneath.`));
    for (const f of ctx.commands) f();
    moved(at !== null && at >= got.x[0] && at <= got.x[got.x.length - 1] ? at : middle(got, look), true);
    return true;
  }

  const height = (box) => (box !== "v" ? heights[box] : room < 480 ? 256 : innerWidth >= 1900 && !printed() ? tall : heights.v);

  function plot(box, k) {
    const many = drawn.items.length > 12;
    const items = drawn.items.map((it) => {
      const y = it.column(k), banded = k !== "g" && (it.mean || !many && drawn.items.filter((x) => x.run).length <= 3), wide = banded ? it.on[k + "u"] : null;
      if (wide?.some((w) => w !== null)) {
        return Object.assign(it, { y, lo: y.map((a, i) => a === null || wide[i] === null ? null : a - wide[i]), hi: y.map((a, i) => a === null || wide[i] === null ? null : a + wide[i]) });
      }
      return Object.assign(it, { y, lo: null, hi: null });
    }).map((it) => ({ ...it }));
    const slim = room < 480;
    const longest = Math.max(0, ...items.filter((it) => it.named).map((it) => it.short.length));
    plots[box] = new Plot(boxes[box], { x: drawn.x, items, room, height: height(box), yName: drawn.names[k], xName: box === "v" ? drawn.xName : "", bottom: true, right: Math.min(slim ? 64 : 110, 18 + 7.6 * longest),
      range: look.x, onmove: (x) => moved(x, false, box), onrange: (a, b) => ranged(a, b, box), onpick: picked, onall: () => plots.v.reset(),
      yRange: k === "v" ? (lo, hi) => [0, hi + 0.04 * (hi - Math.min(lo, 0))] : k === "a" ? (lo, hi) => [Math.min(0, lo), hi * 1.04] : undefined,
      decorate: decorator({ items, unnamed: k === "a" && box !== "v", by: box === "v" && k === "v" ? look.by : "", from: look.from, units: ctx.view.units, front: ctx.front || { modes: [], heads: [] }, targets: k === "v" ? ctx.front?.at || [] : [] }) });
  }

  /** reference offers what the time is gained on. */
  function reference(refs, ref) {
    const pick = h("select", { id: "gain-on", "aria-label": "Time gained on", onchange: () => { look.on = pick.value; remember({ on: look.on }); draw(); } }, refs.map((it) => h("option", { value: it.key }, it.mean ? it.mode : it.name)));
    if (ref) pick.value = ref.key;
    replace(document.getElementById("fold-g"), "Time gained, s");
    const old = details.g.querySelector(".on");
    const line = h("p", { class: "line on" }, "on ", pick, "; above zero is ahead");
    if (old) old.replaceWith(line); else boxes.g.before(line);
  }

  let waiting = 0;
  function ranged(a, b, from) {
    look.x = [a, b];
    for (const [k, p] of Object.entries(plots)) if (k !== from) p.follow(a, b);
    clearTimeout(waiting);
    const [lo, hi] = plots.v ? plots.v.ends() : [a, b];
    waiting = setTimeout(() => {
      const whole = a <= lo + 1e-9 && b >= hi - 1e-9;
      if (whole) look.x = null;
      if (!ctx.gone) remember({ x: whole ? "" : `${+a.toFixed(3)}_${+b.toFixed(3)}` });
    }, 150);
  }

  function picked(it, alone) {
    if (alone) return ctx.alone(it);
    if (it.mean) { ctx.hiddenModes.add(it.mode); return ctx.pickAll([], false); }
    ctx.pick(it.run, false);
  }

  function moved(x, everywhere, from) {
    if (x === null || !drawn) return;
    at = x;
    for (const [k, p] of Object.entries(plots)) if (everywhere || k !== from) p.cursorAt(x);
    const u = ctx.view.units, unit = { time: "s", distance: u.distance, speed: u.name }[look.by];
    const main = look.by === "speed" ? "a" : "v", means = drawn.items.filter((it) => it.mean);
    const shownItems = means.length ? means : drawn.items;
    replace(readout, h("b", {}, `${x.toFixed(look.by === "time" ? 2 : 1)} ${unit}`), shownItems.slice(0, 8).map((it) => {
      const name = h("b", {}, it.short);
      name.style.color = wordColour(it.line);
      const c = it.curve, y = lerp(c.x, c[main], x);
      return h("span", { class: "nb" }, name, " ", y === null ? "–" : pair(y, c[main + "u"] ? lerp(c.x, c[main + "u"], x) : null).join(" ± "));
    }), h("span", { class: "soft" }, main === "v" ? u.name : "g"));
    if (all.open) table(x);
  }
  all.addEventListener("toggle", () => { if (at !== null) table(at); });

  function table(x) {
    const u = ctx.view.units;
    const cell = (y, w) => h("td", { class: "r" }, y === null || y === undefined ? num("") : num(...pair(y, w)));
    replace(values, h("table", { class: "ruled values" }, h("thead", {}, h("tr", {}, ["trace", "speed, " + u.name, "acceleration, g", "time, s", "distance, " + u.distance, drawn.names.g].map((t, i) => h("th", { scope: "col", class: i ? "r" : "" }, t)))),
      h("tbody", {}, drawn.items.map((it) => {
        const c = it.curve, on = (k) => (c[k] ? lerp(c.x, c[k], x) : null), t = on("t"), d = on("s");
        const there = d === null || !drawn.ref ? null : lerp(drawn.ref.curve.along.s, drawn.ref.curve.along.t, d);
        return h("tr", {}, h("th", { scope: "row" }, swatch(it), it.name), cell(on("v"), on("vu")), cell(on("a"), on("au")), cell(t), cell(d), cell(there === null || t === null ? null : there - t));
      }))));
  }

  const resize = () => {
    if (ctx.gone) return;
    room = boxes.v.clientWidth;
    for (const [box, p] of Object.entries(plots)) { p.o.height = height(box); p.resize(); }
  };
  addEventListener("resize", resize);
  whenLooksChange(ctx, () => draw());
  let later = 0;
  const again = () => {
    if (ctx.view.pending) { // while logs come in, now and then
      later ||= setTimeout(() => { later = 0; if (!ctx.gone) fresh(); }, 2500);
      if (drawn) return;
    }
    fresh();
  };
  const fresh = () => {
    const mark = JSON.stringify([ctx.view.runs.map((r) => [r.id, r.mode, r.counted]), ctx.view.units.name, ctx.view.lines.modes, ctx.front?.modes, ctx.front?.targets]);
    if (mark === known) return;
    known = mark;
    means.clear();
    cache.clear();
    draw();
  };
  return { el, picked: () => draw(), front: again, update() { if (!ctx.view.runs.length) { el.hidden = true; } } };
}

const middle = (got, look) => (look.x ? (look.x[0] + look.x[1]) / 2 : got.x[0] + 0.4 * (got.x[got.x.length - 1] - got.x[0]));

/** pair is a value and its half-width as everywhere: two figures of the half-width, the
 *  value to the same place. */
export function pair(y, w) {
  const minus = (t) => t.replace("-", "−");
  if (!(w > 0)) return [minus(y.toFixed(2))];
  const p = Math.max(0, 1 - Math.floor(Math.log10(w)));
  return [minus(y.toFixed(p)), w.toFixed(p)];
}

/** shape is what a folded figure looks like, on the axis of the one above. */
function shape(f, k, width) {
  const w = Math.max(200, width - 50), tall = 26, means = f.items.filter((it) => it.mean), of = means.length ? means : f.items.slice(0, 8);
  const cols = of.map((it) => it.column(k)), all = cols.flat().filter((y) => y !== null);
  const lo = Math.min(0, ...all.filter((_, i) => i % 7 === 0)), hi = Math.max(lo + 1e-9, ...all.filter((_, i) => i % 7 === 0)), n = f.x.length - 1, step = Math.max(1, Math.floor(n / 200));
  const el = s("svg", { width: w, height: tall, viewBox: `0 0 ${w} ${tall}`, "aria-hidden": "true" });
  cols.forEach((c, i) => {
    const at = [];
    for (let j = 0; j <= n; j += step) if (c[j] !== null) at.push(`${(j / n * w * 0.9).toFixed(1)} ${(tall - 2 - (c[j] - lo) / (hi - lo) * (tall - 4)).toFixed(1)}`);
    const p = s("path", { d: at.length ? "M" + at.join("L") : "", fill: "none", "stroke-width": 1.4, "stroke-dasharray": of[i].dash.join(" ") || null });
    p.style.stroke = colour(of[i].line);
    el.append(p);
  });
  return el;
}

function swatch(it) {
  const l = s("line", { x1: 0, y1: 4, x2: 30, y2: 4, "stroke-width": it.width, "stroke-dasharray": it.dash.join(" ") || null, "stroke-opacity": it.mean ? 1 : 0.8 });
  l.style.stroke = colour(it.line);
  const el = s("svg", { width: 38, height: 8, viewBox: "0 0 38 8", "aria-hidden": "true" });
  el.append(l);
  return el;
}
