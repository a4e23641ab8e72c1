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
export function svgOf(v) {
  const W = 880, left = 64, right = 16, top = 40, legend = 22 * v.labels.length + 10;
  const main = 380, small = v.gapped ? 150 : 0;
  const H = top + main + 52 + (small ? small + 52 : 0) + legend;
  const el = s("svg", { xmlns: "http://www.w3.org/2000/svg", viewBox: `0 0 ${W} ${H}`, width: W, height: H, role: "img", "aria-labelledby": "t d", "font-family": "system-ui, 'Liberation Sans', Arial, Helvetica, sans-serif", "font-size": 13 });
  const desc = `Runs: ${v.labels.join("; ")}. From ${v.range[0].toFixed(2)} to ${v.range[1].toFixed(2)}.` + (v.bands ? " Bands are 95 % intervals." : "") + ` Made by ${v.madeBy}.`;
  el.append(s("title", { id: "t" }, v.title), s("desc", { id: "d" }, desc), s("rect", { width: W, height: H, fill: "#ffffff" }), text(left, 22, v.title, { "font-weight": 600, "font-size": 15 }));
  panel(el, v, v.cols, v.names.y, left, top, W - left - right, main, v.bands);
  if (small) panel(el, v, v.gap.map((y) => ({ y })), "behind the first, s", left, top + main + 52, W - left - right, small, false);
  v.labels.forEach((name, i) => {
    const y = H - legend + 22 * i + 12;
    el.append(s("line", { x1: left, y1: y, x2: left + 40, y2: y, ...penOf(v.lines[i]) }), text(left + 50, y + 4, name));
  });
  return '<?xml version="1.0" encoding="UTF-8"?>\n' + new XMLSerializer().serializeToString(el);
}

/** penOf is how a line is drawn on paper. */
const penOf = (l) => ({ stroke: l.light, "stroke-opacity": l.opacity, "stroke-width": l.width, "stroke-dasharray": l.dash.join(" ") || "none" });

function text(x, y, t, extra) {
  return s("text", { x, y, fill: "#1d1c19", ...extra }, t);
}

function panel(el, v, cols, yName, x0, y0, w, h, bands) {
  const [a, b] = v.range;
  const inside = v.x.map((x, i) => [x, i]).filter(([x]) => x >= a && x <= b).map(([, i]) => i);
  let lo = Infinity, hi = -Infinity;
  for (const c of cols) for (const i of inside) for (const y of [c.y[i], bands && c.lo ? c.lo[i] : null, bands && c.hi ? c.hi[i] : null]) {
    if (y === null || y === undefined || Number.isNaN(y)) continue;
    lo = Math.min(lo, y);
    hi = Math.max(hi, y);
  }
  if (!(hi > lo)) { lo = (Number.isFinite(lo) ? lo : 0) - 0.5; hi = lo + 1; }
  const pad = (hi - lo) * 0.04;
  lo -= pad;
  hi += pad;
  const X = (x) => +(x0 + (x - a) / (b - a) * w).toFixed(2), Y = (y) => +(y0 + h - (y - lo) / (hi - lo) * h).toFixed(2);
  for (const t of ticks(a, b, 9)) el.append(s("line", { x1: X(t), x2: X(t), y1: y0, y2: y0 + h, stroke: "#dedbd2" }), text(X(t), y0 + h + 17, String(t), { "text-anchor": "middle" }));
  for (const t of ticks(lo, hi, h > 200 ? 7 : 4)) el.append(s("line", { x1: x0, x2: x0 + w, y1: Y(t), y2: Y(t), stroke: "#dedbd2" }), text(x0 - 8, Y(t) + 4, String(t), { "text-anchor": "end" }));
  el.append(s("rect", { x: x0, y: y0, width: w, height: h, fill: "none", stroke: "#8a8577" }),
    text(x0 + w / 2, y0 + h + 38, v.names.x, { "text-anchor": "middle" }),
    text(0, 0, yName, { "text-anchor": "middle", transform: `translate(16 ${y0 + h / 2}) rotate(-90)` }));
  cols.forEach((c, n) => {
    for (const part of runsOf(inside, c.y)) {
      if (bands && c.lo) {
        const ok = part.filter((i) => c.lo[i] !== null && c.hi[i] !== null);
        if (ok.length > 1) el.append(s("path", { d: "M" + ok.map((i) => `${X(v.x[i])} ${Y(c.hi[i])}`).join("L") + "L" + ok.reverse().map((i) => `${X(v.x[i])} ${Y(c.lo[i])}`).join("L") + "Z", fill: v.lines[n].light, "fill-opacity": 0.18 * v.lines[n].opacity }));
      }
      el.append(s("polyline", { points: part.map((i) => `${X(v.x[i])},${Y(c.y[i])}`).join(" "), fill: "none", "stroke-linejoin": "round", ...penOf(v.lines[n]) }));
    }
  });
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

/** csvOf lists the visible part, one column a trace and its half-width, and last the model. */
export function csvOf(v) {
  const quote = (t) => {
    t = String(t);
    if (/^[=+\-@\t\r]/.test(t) && Number.isNaN(Number(t))) t = "'" + t; // a spreadsheet must not take a name for a formula
    return /[",\n\r]/.test(t) ? '"' + t.replaceAll('"', '""') + '"' : t;
  };
  const rows = [[v.names.x, ...v.labels.flatMap((l) => [`${l}: ${v.names.y}`, `${l}: half-width 95 %`, ...(v.gapped ? [`${l}: behind the first, s`] : [])]), "model"]];
  const fix = (n) => n === null || n === undefined || Number.isNaN(n) ? "" : n.toFixed(3);
  v.x.forEach((x, i) => {
    if (x < v.range[0] || x > v.range[1]) return;
    rows.push([x.toFixed(3), ...v.cols.flatMap((c, n) => [fix(c.y[i]), c.lo[i] === null ? "" : fix(c.hi[i] - c.y[i]), ...(v.gapped ? [fix(v.gap[n][i])] : [])]), v.model]);
  });
  return rows.map((r) => r.map(quote).join(",")).join("\r\n") + "\r\n";
}
