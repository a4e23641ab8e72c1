// Part 3: traces over each other.
import { h, s, num, replace, say, download, part, wide } from "./dom.js";
import { get } from "./api.js";
import { Trace, columns, faded, styles } from "./traces.js";
import { Plot, colour, isDark, whenPrinting } from "./plot.js";
import { svgOf, pngOf, csvOf } from "./picture.js";

const most = 24;

export function overlay(ctx) {
  const o = { align: "rollout", axis: "time", quantity: "speed", bands: true, speed: 20 };
  const cache = new Map();
  let traces = [], plot = null, gapPlot = null, turn = 0, touched = false, data = null, wanted = "";

  const choose = h("fieldset", { class: "picks" });
  const speed = h("input", { id: "ov-speed", type: "number", min: "1", max: "300", step: "1", value: "20", onchange: () => { o.speed = +speed.value || 20; draw(); } });
  const speedBox = h("span", { hidden: true }, h("label", { for: "ov-speed" }, "of "), speed, h("span", { id: "ov-unit" }));
  const select = (id, label, opts, key) => {
    const el = h("select", { id, onchange: () => { o[key] = el.value; speedBox.hidden = o.align !== "speed"; draw(true); } }, opts.map(([v, t]) => h("option", { value: v }, t)));
    return [h("label", { for: id }, label), el];
  };
  const bands = h("input", { type: "checkbox", id: "ov-bands", checked: true, onchange: () => { o.bands = bands.checked; draw(); } });
  const big = h("div", { class: "plot", id: "ov-plot", tabindex: "0", role: "group", "aria-roledescription": "chart" });
  const small = h("div", { class: "plot gap", id: "ov-gap" });
  const cursor = h("input", { type: "range", id: "ov-cursor", min: "0", max: "1000", step: "1", value: "0", oninput: () => moveTo(+cursor.value / 1000) });
  const readout = wide("Values at the cursor");
  const where = h("p", { class: "at", id: "ov-at" });
  const empty = h("p", { class: "soft" }, "Tick two runs or more to lay them over each other.");
  const zoomers = [["Closer", () => plot.zoom(0.5)], ["Wider", () => plot.zoom(2)], ["Left", () => plot.pan(-0.25)], ["Right", () => plot.pan(0.25)], ["All", () => plot.reset()]]
    .map(([t, f]) => h("button", { type: "button", class: "quiet", onclick: () => plot && f() }, t));
  const stage = h("div", { class: "stage", hidden: true },
    h("div", { class: "row tools" }, h("span", { class: "soft" }, "Zoom:"), zoomers),
    big, small,
    h("p", { class: "cursor" }, h("label", { for: "ov-cursor" }, "Cursor"), cursor), where, readout,
    h("p", { class: "soft" }, "Drag across the chart to zoom, with Shift to move it, double-click for all. Keys on the chart: arrows move the cursor, Shift and arrows the view, + and − zoom, 0 shows all."),
    h("p", { class: "row" },
      h("button", { type: "button", id: "ov-svg", onclick: () => take("svg") }, "Save as SVG"),
      h("button", { type: "button", id: "ov-png", onclick: () => take("png") }, "Save as PNG"),
      h("button", { type: "button", id: "ov-csv", onclick: () => take("csv") }, "Save as CSV")));
  const el = part("overlay", "3", "Overlay",
    choose,
    h("p", { class: "row controls" },
      select("ov-align", "Aligned at", [["rollout", "rollout"], ["launch", "launch"], ["speed", "a speed"]], "align"), speedBox,
      select("ov-axis", "by", [["time", "time"], ["distance", "distance"]], "axis"),
      select("ov-quantity", "showing", [["speed", "speed"], ["accel", "acceleration"]], "quantity"),
      h("span", {}, bands, h("label", { for: "ov-bands" }, " 95 % bands"))),
    empty, stage);

  big.addEventListener("keydown", (e) => {
    if (!plot) return;
    const keys = { "+": () => plot.zoom(0.5), "=": () => plot.zoom(0.5), "-": () => plot.zoom(2), 0: () => plot.reset(),
      ArrowLeft: () => e.shiftKey ? plot.pan(-0.1) : nudge(-1), ArrowRight: () => e.shiftKey ? plot.pan(0.1) : nudge(1), Home: () => moveTo(0), End: () => moveTo(1) };
    if (keys[e.key] && !e.ctrlKey && !e.metaKey && !e.altKey) { e.preventDefault(); keys[e.key](); }
  });
  const nudge = (n) => { cursor.value = +cursor.value + n * 5; moveTo(+cursor.value / 1000); };
  const moveTo = (f) => { if (plot) { const [a, b] = plot.range(); plot.cursorAt(a + f * (b - a)); } };

  function names(list) {
    return list.map((tr) => tr.id + (tr.mode ? ", " + tr.mode : ""));
  }

  function showPicks(v) {
    const runs = v.runs.filter((r) => r.spark.length);
    const modes = v.lines.modes.map((l) => l.mode).filter((m) => runs.some((r) => r.mode === m));
    const toggle = (m) => {
      touched = true;
      const ids = runs.filter((r) => r.mode === m && r.counted).map((r) => r.id);
      const on = ids.some((id) => !ctx.picked.has(id));
      for (const id of ids) ctx.pick(id, on);
    };
    const listed = runs.length <= 60 ? runs : runs.filter((r) => ctx.picked.has(r.id));
    replace(choose, h("legend", {}, "Runs in the overlay"),
      modes.length ? h("span", { class: "row" }, modes.map((m, i) => h("button", { type: "button", class: "quiet", id: "ov-mode-" + i, onclick: () => toggle(m) }, "Mode " + m)),
        ctx.picked.size ? h("button", { type: "button", class: "quiet", id: "ov-none", onclick: () => { for (const id of [...ctx.picked]) ctx.pick(id, false); } }, "None") : null) : null,
      h("span", { class: "chips" }, listed.map((r, i) => {
        const box = h("input", { type: "checkbox", id: "ov-run-" + i, checked: ctx.picked.has(r.id), onchange: () => { touched = true; ctx.pick(r.id, box.checked); } });
        return h("span", { class: "chip" }, box, h("label", { for: box.id }, r.counted ? r.id : [h("s", {}, r.id), " (not counted)"], r.mode ? h("span", { class: "soft" }, " " + r.mode) : null));
      })),
      runs.length > 60 ? h("p", { class: "soft" }, "Tick more in the list of runs.") : null);
  }

  async function load() {
    const ids = [...ctx.picked].slice(0, most);
    if (ctx.picked.size > most) say(`The overlay shows ${most} runs at most.`, true);
    const mine = ++turn;
    const missing = ids.filter((id) => !cache.has(id));
    if (missing.length) {
      try {
        for (const raw of await get(`${ctx.base}/traces?runs=${encodeURIComponent(missing.join("\n"))}`)) cache.set(raw.id, new Trace(raw));
      } catch (e) { say(e.message, true); }
    }
    if (mine !== turn || ctx.gone) return;
    const mode = new Map(ctx.view.runs.map((r) => [r.id, r.mode]));
    traces = ids.map((id) => cache.get(id)).filter(Boolean);
    for (const tr of traces) tr.mode = mode.get(tr.id) || "";
    draw(true);
  }

  function draw(fresh) {
    const u = ctx.view.units;
    document.getElementById("ov-unit").textContent = " " + u.name;
    empty.hidden = traces.length > 0;
    stage.hidden = !traces.length;
    if (!traces.length) { plot?.destroy(); gapPlot?.destroy(); plot = gapPlot = null; return; }
    for (const tr of traces) tr.align(o.align, o.speed * u.per);
    const used = traces.filter((tr) => tr.ok);
    const left = traces.filter((tr) => !tr.ok);
    if (left.length) say(`${names(left).join("; ")}: never reached ${o.speed} ${u.name}, left out.`, true);
    if (!used.length) return;
    const keep = !fresh && plot ? plot.range() : null;
    data = { used, ...columns(used, { ...o, per: u.per, distancePer: u.distancePer }) };
    const xName = `${o.axis === "time" ? "time" : "distance"} from ${o.align === "speed" ? o.speed + " " + u.name : o.align}, ${o.axis === "time" ? "s" : u.distance}`;
    const yName = o.quantity === "accel" ? "acceleration, m/s²" : "speed, " + u.name;
    data.names = { x: xName, y: yName };
    plot?.destroy();
    gapPlot?.destroy();
    const lines = styles(ctx.view.lines, used.map((tr) => tr.id)).map((st, i) => ({ name: names([used[i]])[0], ...st }));
    data.lines = lines;
    plot = new Plot(big, { lines, x: data.x, cols: data.cols, bands: o.bands, xName, yName, height: 380, onmove: moved, onrange: ranged, onready: (p) => {
      if (p !== plot) return;
      if (keep) p.show(...keep);
      moveTo((+cursor.value || 500) / 1000);
    } });
    big.setAttribute("aria-label", `${yName} against ${xName} of ${names(used).join("; ")}. The values at the cursor stand in the table below.`);
    small.hidden = o.axis !== "distance" || used.length < 2;
    gapPlot = null;
    if (!small.hidden) {
      gapPlot = new Plot(small, { lines, x: data.x, cols: data.gap.map((y) => ({ y })), bands: false, xName, yName: "behind the first, s", height: 190, follow: plot });
    }
  }

  const ranged = (a, b) => gapPlot?.show(a, b);

  function moved(shown) {
    if (shown === null || !data) return;
    const [a, b] = plot.range();
    cursor.value = Math.round(1000 * (shown - a) / (b - a));
    const u = ctx.view.units;
    where.textContent = `At ${shown.toFixed(2)} ${o.axis === "time" ? "s" : u.distance}`;
    cursor.setAttribute("aria-valuetext", where.textContent);
    const x = o.axis === "time" ? shown : shown * u.distancePer;
    const first = data.used[0].at(o.axis, x);
    const fixed = (n, p) => n === null || n === undefined ? "" : n.toFixed(p);
    // As everywhere: two figures of the half-width, the value to the same place.
    const both = (n, u) => {
      if (!(u > 0)) return num(fixed(n, 2), "");
      const p = Math.max(0, 1 - Math.floor(Math.log10(u)));
      return num(fixed(n, p), fixed(u, p));
    };
    replace(readout, h("table", { class: "ruled readout" }, h("thead", {}, h("tr", {}, ["Trace", "Speed, " + u.name, "Acceleration, m/s²", "Time, s", "Distance, " + u.distance, "Behind the first there, s"].map((t, i) => h("th", { scope: "col", class: i ? "r" : "" }, t)))),
      h("tbody", {}, data.used.map((tr, i) => {
        const p = tr.at(o.axis, x);
        const late = p && first && i > 0 ? tr.after(first.s) : null;
        const gap = late === null || late === undefined ? null : late - data.used[0].after(first.s);
        return h("tr", {}, h("th", { scope: "row" }, swatch(data.lines[i]), names([tr])[0]),
          h("td", { class: "r" }, p ? both(p.v / u.per, p.sv / u.per) : num("")),
          h("td", { class: "r" }, p ? both(p.a, p.sa) : num("")),
          h("td", { class: "r" }, p ? num(fixed(p.t, 2)) : num("")), h("td", { class: "r" }, p ? num(fixed(p.s / u.distancePer, 1)) : num("")),
          h("td", { class: "r" }, i === 0 ? "first" : gap === null || Number.isNaN(gap) ? num("") : num((gap >= 0 ? "" : "−") + Math.abs(gap).toFixed(2))));
      }))));
  }

  function swatch(line) {
    return s("svg", { class: "swatch", width: 30, height: 8, viewBox: "0 0 30 8", "aria-hidden": "true" },
      s("line", { x1: 0, y1: 4, x2: 30, y2: 4, stroke: faded(colour(line), line.opacity), "stroke-width": 1.2 * line.width, "stroke-dasharray": line.dash.join(" ") || "none" }));
  }

  async function take(kind) {
    if (!plot || !data) return;
    const view = { ...data, range: plot.range(), bands: o.bands, title: `${data.names.y} against ${data.names.x}`, labels: names(data.used), gapped: !small.hidden, madeBy: ctx.view.madeBy, model: ctx.view.model };
    const name = "overlay-" + o.align + "-" + o.axis;
    try {
      if (kind === "csv") return download(name + ".csv", new Blob([csvOf(view)], { type: "text/csv" }));
      const svg = svgOf(view);
      if (kind === "svg") return download(name + ".svg", new Blob([svg], { type: "image/svg+xml" }));
      download(name + ".png", await pngOf(svg, 2));
    } catch (e) { say(e.message, true); }
  }

  addEventListener("resize", () => { plot?.resize(); gapPlot?.resize(); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw());
  whenPrinting(() => { if (!ctx.gone) draw(); });

  return {
    el, nav: "Overlay",
    picked() {
      showPicks(ctx.view);
      load();
    },
    update(v) {
      if (!touched && !v.pending && !ctx.picked.size && v.runs.length > 1) {
        touched = true;
        const seen = new Set();
        for (const r of v.runs) if (r.counted && !seen.has(r.mode || r.log) && seen.size < 4) { seen.add(r.mode || r.log); ctx.picked.add(r.id); }
        ctx.each((p) => p.picked?.());
      }
      const mark = JSON.stringify(v.runs.map((r) => [r.id, r.mode, r.counted])) + v.units.name + isDark();
      if (mark === wanted) return;
      wanted = mark;
      showPicks(v);
      load();
    },
  };
}
