// What the overlay shows, as a picture or a table to take away.
import { s } from "./dom.js";

/** ticks are round numbers across a range. */
export function ticks(a, b, n) {
  const raw = (b - a) / n, p = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((k) => k * p).find((k) => k >= raw);
  const out = [];
  for (let k = Math.ceil(a / step - 1e-9); k * step <= b + step * 1e-9; k++) out.push(+(k * step).toPrecision(12));
  return out;
}

/** svgOf draws the visible part as a self-contained SVG for print. */
export function svgOf(f) {
  const W = 880, left = 64, right = 90, top = 40, tall = { 0: 340, 1: 150 };
  const entries = legend(f.items), key = 20 * Math.ceil(entries.length / 2) + 14;
  const panels = f.shown.map((k, i) => ({ k, h: tall[i ? 1 : 0] }));
  const H = top + panels.reduce((n, p) => n + p.h + 46, 0) + key;
  const title = `${f.names[f.shown[0]].split(",")[0]} against ${f.xName.split(/ from |,/)[0]}`.replace(/^./, (c) => c.toUpperCase());
  const el = s("svg", { xmlns: "http://www.w3.org/2000/svg", viewBox: `0 0 ${W} ${H}`, width: W, height: H, role: "img", "aria-labelledby": "t d", "font-family": "'Liberation Sans', Arial, Helvetica, sans-serif", "font-size": 13 });
  const desc = `${f.items.map((it) => it.name).join("; ")}. From ${f.range[0].toFixed(2)} to ${f.range[1].toFixed(2)}. Bands are 95 % intervals. Made by ${f.view.madeBy}.`;
  el.append(s("title", { id: "t" }, title), s("desc", { id: "d" }, desc), s("rect", { width: W, height: H, fill: "#ffffff" }), text(left, 22, title, { "font-weight": 600, "font-size": 15 }));
  let y = top;
  for (const p of panels) {
    panel(el, f, p.k, left, y, W - left - right, p.h);
    y += p.h + 46;
  }
  entries.forEach((e, i) => {
    const x = left + (i % 2) * 390, at = y + 20 * (i >> 1) + 8;
    el.append(s("line", { x1: x, y1: at, x2: x + 36, y2: at, ...penOf(e.it) }), text(x + 44, at + 4, e.text));
  });
  return '<?xml version="1.0" encoding="UTF-8"?>\n' + new XMLSerializer().serializeToString(el);
}

/** legend names each mean, and the runs of a mode together. */
function legend(items) {
  const out = items.filter((it) => it.mean).map((it) => ({ it, text: it.name }));
  for (const it of items.filter((x) => x.run)) {
    const of = items.filter((x) => x.run && x.mode === it.mode);
    if (of[0] !== it) continue;
    out.push({ it, text: of.length > 3 ? `${of.length} runs${it.mode ? " of " + it.mode : ""}` : of.map((x) => x.name).join("; ") });
  }
  return out;
}

/** penOf is how a line is drawn on paper. */
const penOf = (it) => ({ stroke: it.line.light, "stroke-opacity": it.opacity, "stroke-width": it.width, "stroke-dasharray": it.dash.join(" ") || "none" });

function text(x, y, t, extra) {
  return s("text", { x, y, fill: "#1c1b18", ...extra }, t);
}

/** columnOf is what a panel shows of an item, with the edges of its band. */
function columnOf(it, k) {
  const y = it.column(k), w = k === "g" || !it.mean ? null : it.on[k + "u"];
  const edge = (f) => w ? y.map((a, i) => a === null || w[i] === null ? null : a + f * w[i]) : null;
  return { it, y, lo: edge(-1), hi: edge(1) };
}

function panel(el, f, k, x0, y0, w, h) {
  const [a, b] = f.range, x = f.x, cols = f.items.map((it) => columnOf(it, k));
  const inside = x.map((at, i) => [at, i]).filter(([at]) => at >= a && at <= b).map(([, i]) => i);
  let lo = k === "g" ? 0 : Infinity, hi = k === "g" ? 0 : -Infinity;
  for (const c of cols) for (const i of inside) for (const y of [c.y[i], c.lo?.[i], c.hi?.[i]]) {
    if (y === null || y === undefined || Number.isNaN(y)) continue;
    lo = Math.min(lo, y);
    hi = Math.max(hi, y);
  }
  if (!(hi > lo)) { lo = (Number.isFinite(lo) ? lo : 0) - 0.5; hi = lo + 1; }
  const pad = (hi - lo) * 0.04;
  if (k === "g" || lo < -pad) lo -= pad; else lo = Math.min(lo, 0);
  hi += pad;
  const X = (v) => +(x0 + (v - a) / (b - a) * w).toFixed(2), Y = (v) => +(y0 + h - (v - lo) / (hi - lo) * h).toFixed(2);
  for (const t of ticks(a, b, 9)) el.append(s("line", { x1: X(t), x2: X(t), y1: y0 + h, y2: y0 + h + 5, stroke: "#1c1b18" }), text(X(t), y0 + h + 18, String(t), { "text-anchor": "middle" }));
  for (const t of ticks(lo, hi, h > 200 ? 8 : 4)) el.append(s("line", { x1: x0, x2: x0 + w, y1: Y(t), y2: Y(t), stroke: "#dedbd0" }), text(x0 - 8, Y(t) + 4, String(t), { "text-anchor": "end" }));
  el.append(s("line", { x1: x0, x2: x0 + w, y1: y0 + h, y2: y0 + h, stroke: "#1c1b18" }), text(x0, y0 - 4, f.names[k], { fill: "#5d5a52" }), text(x0 + w, y0 + h + 34, f.xName, { "text-anchor": "end", fill: "#5d5a52" }));
  for (const c of cols) {
    for (const part of runsOf(inside, c.y)) {
      const ok = c.lo ? part.filter((i) => c.lo[i] !== null && c.hi[i] !== null) : [];
      if (ok.length > 1) el.append(s("path", { d: "M" + ok.map((i) => `${X(x[i])} ${Y(c.hi[i])}`).join("L") + "L" + ok.reverse().map((i) => `${X(x[i])} ${Y(c.lo[i])}`).join("L") + "Z", fill: c.it.line.light, "fill-opacity": 0.16 }));
      el.append(s("polyline", { points: part.map((i) => `${X(x[i])},${Y(c.y[i])}`).join(" "), fill: "none", "stroke-linejoin": "round", ...penOf(c.it) }));
    }
    const last = inside.filter((i) => c.y[i] !== null && !Number.isNaN(c.y[i])).at(-1);
    if (c.it.named && last !== undefined && k === f.shown[0]) el.append(text(X(x[last]) + 6, Y(c.y[last]) + 4, c.it.short, { "font-weight": 700, fill: c.it.line.light }));
  }
}

/** runsOf cuts a column where values are missing. */
function runsOf(inside, y) {
  const out = [];
  let part = [];
  for (const i of inside) {
    if (y[i] === null || y[i] === undefined || Number.isNaN(y[i])) { if (part.length) out.push(part); part = []; } else part.push(i);
  }
  if (part.length) out.push(part);
  return out;
}

/** pngOf rasterises an SVG at a scale. */
export function pngOf(svg, scale) {
  const url = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  const img = new Image();
  return new Promise((ok, no) => {
    img.onload = () => {
      const c = document.createElement("canvas");
      c.width = img.naturalWidth * scale;
      c.height = img.naturalHeight * scale;
      c.getContext("2d").drawImage(img, 0, 0, c.width, c.height);
      URL.revokeObjectURL(url);
      c.toBlob((b) => b ? ok(b) : no(new Error("the picture could not be made")), "image/png");
    };
    img.onerror = () => { URL.revokeObjectURL(url); no(new Error("the picture could not be made")); };
    img.src = url;
  });
}

/** csvOf lists the visible part, for each trace every quantity shown with its half-width,
 *  and last the model. */
export function csvOf(f) {
  const quote = (t) => {
    t = String(t);
    if (/^[=+\-@\t\r]/.test(t) && Number.isNaN(Number(t))) t = "'" + t; // a spreadsheet must not take a name for a formula
    return /[",\n\r]/.test(t) ? '"' + t.replaceAll('"', '""') + '"' : t;
  };
  const has = (it, k) => it.column(k), wide = (it, k) => k !== "g" && it.on[k + "u"].some((w) => w !== null);
  const cols = f.items.flatMap((it) => f.shown.flatMap((k) => [[`${it.name}: ${f.names[k]}`, has(it, k)], ...(wide(it, k) ? [[`${it.name}: ${f.names[k]}, half-width 95 %`, it.on[k + "u"]]] : [])]));
  const fix = (n) => n === null || n === undefined || Number.isNaN(n) ? "" : n.toFixed(4);
  const rows = [[f.xName, ...cols.map(([name]) => name), "model"]];
  f.x.forEach((x, i) => { if (x >= f.range[0] && x <= f.range[1]) rows.push([x.toFixed(3), ...cols.map(([, c]) => fix(c[i])), f.view.model]); });
  return rows.map((r) => r.map(quote).join(",")).join("\r\n") + "\r\n";
}
