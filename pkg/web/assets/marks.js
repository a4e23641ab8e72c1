// What is written into the figure: names at the lines' ends, the targets on the means with
// their times, and the direction of each run.
import { colour, role, wordColour } from "./colours.js";
import { lerp, upTo } from "./traces.js";

const sans = '"Segoe UI", "Helvetica Neue", "Liberation Sans", Arial, sans-serif';

/** pushedApart are positions moved so that each has its room, in their order. */
export function pushedApart(ys, room, lo, hi) {
  const order = ys.map((y, i) => [y, i]).sort((a, b) => a[0] - b[0]);
  let last = lo - room;
  for (const o of order) { o[0] = Math.max(o[0], last + room); last = o[0]; }
  let next = hi + room;
  for (const o of order.reverse()) { o[0] = Math.min(o[0], next - room); next = o[0]; }
  const out = [];
  for (const [y, i] of order) out[i] = y;
  return out;
}

/** decorator writes into the chart of speed. d: items, by, from, units, front, only(item). */
export function decorator(d) {
  return (plot) => {
    const u = plot.u, k = devicePixelRatio || 1, c = u.ctx, { left, top, width, height } = u.bbox;
    c.save();
    const text = (t, x, y, o = {}) => {
      c.font = `${o.weight || 400} ${(o.size || 12) * k}px ${sans}`;
      c.textAlign = o.align || "left";
      c.textBaseline = "alphabetic";
      if (o.halo) { c.strokeStyle = role("--paper"); c.lineWidth = 3 * k; c.lineJoin = "round"; c.strokeText(t, x, y); }
      c.fillStyle = o.fill || role("--ink");
      c.fillText(t, x, y);
      return c.measureText(t).width;
    };
    const [x0, x1] = plot.range();
    const inside = (x) => x >= left - 1 && x <= left + width + 1;
    text(plot.o.yName, left + 6 * k, top + 2 * k, { fill: role("--soft"), halo: true });
    text(plot.o.xName, left + width, top + height - 6 * k, { fill: role("--soft"), align: "right", halo: true });
    c.strokeStyle = role("--hair");
    c.lineWidth = k;
    if (x0 < 0 && x1 > 0) { const z = Math.round(plot.X(0)) + 0.5; c.beginPath(); c.moveTo(z, top); c.lineTo(z, top + height); c.stroke(); }
    targets(d, plot, { c, k, text, inside, left, top, width, height });
    ends(d, plot, { c, k, text, x1, left, top, width, height });
    c.restore();
  };
}

function targets(d, plot, g) {
  const { c, k, text, inside, left, top, width, height } = g;
  const means = d.items.filter((it) => it.mean && plot.u.series[plot.at[plot.o.items.indexOf(it)]].show);
  const timed = means.length <= 4 && width / k > 300, rows = means.length;
  const base = top + height - (6 + (rows - 1) * 15) * k - 14 * k;
  let lastRight = -Infinity;
  d.targets.forEach((t, col) => {
    if (!t) return;
    c.setLineDash([k, 3 * k]);
    c.strokeStyle = role("--soft");
    c.lineWidth = k;
    const across = t.speed && d.by !== "speed" ? plot.Y(t.speed) : null, up = t.distance && d.by === "distance" ? plot.X(t.distance) : t.speed && d.by === "speed" ? plot.X(t.speed) : null;
    c.beginPath();
    if (across !== null && across > top && across < top + height) { c.moveTo(left, across); c.lineTo(left + width, across); }
    if (up !== null && inside(up)) { c.moveTo(up, top); c.lineTo(up, top + height); }
    c.stroke();
    c.setLineDash([]);
    const at = means.map((it) => {
      const mode = d.front.modes.find((m) => m.name === it.mode), time = mode?.times[col]?.[d.from === "launch" ? 1 : 0];
      const known = (d.from === "rollout" || d.from === "launch") && time?.x !== null && time?.x !== undefined;
      const x = d.by === "time" && known ? time.x : upTo(it.curve, t);
      const y = x === null || d.by === "speed" ? null : lerp(it.curve.x, it.curve.v, x);
      return { it, x, y: t.speed && known && d.by === "time" ? t.speed : y, text: known ? time.v : "" };
    }).filter((p) => p.x !== null && p.y !== null && inside(plot.X(p.x)));
    if (!at.length) return;
    const leftmost = Math.min(...at.map((p) => plot.X(p.x)));
    const room = leftmost - lastRight > 66 * k;
    at.forEach((p) => {
      const px = plot.X(p.x), py = plot.Y(p.y), row = means.indexOf(p.it);
      c.strokeStyle = colour(p.it.line);
      if (timed && d.by === "time" && p.text && room) {
        const y = base + row * 15 * k;
        c.globalAlpha = 0.7;
        c.lineWidth = k;
        c.beginPath(); c.moveTo(px, py); c.lineTo(px, y - 8 * k); c.stroke();
        c.globalAlpha = 1;
        const w = text(p.text, px + 3 * k, y, { fill: wordColour(p.it.line), weight: 600, halo: true });
        lastRight = Math.max(lastRight, px + w);
        if (row === 0) text(d.front.heads[col], px - 4 * k, y, { fill: role("--soft"), align: "right", halo: true });
      }
      c.strokeStyle = colour(p.it.line);
      c.beginPath();
      c.arc(px, py, 3.2 * k, 0, 2 * Math.PI);
      c.fillStyle = role("--paper");
      c.lineWidth = 1.6 * k;
      c.fill();
      c.stroke();
    });
  });
}

/** ends are the names of the means, or of single runs, where their lines end, and the marks
 *  of the runs' directions. */
function ends(d, plot, g) {
  const { c, k, text, x1, left, top, width, height } = g;
  const end = (it) => {
    const x = plot.o.x;
    for (let i = x.length - 1; i >= 0; i--) if (x[i] <= x1 && it.y[i] !== null && it.y[i] !== undefined) return [x[i], it.y[i]];
    return null;
  };
  const named = d.items.filter((it) => it.named && !d.unnamed).map((it) => ({ it, end: end(it) })).filter((p) => p.end);
  for (const it of d.items) {
    if (it.mean || d.items.length > 60) continue;
    const e = end(it);
    if (!e || e[0] >= x1 - 1e-9 || plot.X(e[0]) < left) continue;
    c.beginPath();
    c.arc(plot.X(e[0]), plot.Y(e[1]), 2.4 * k, 0, 2 * Math.PI);
    c.fillStyle = it.way || !it.counted ? role("--paper") : colour(it.line);
    c.strokeStyle = colour(it.line);
    c.lineWidth = k;
    c.fill();
    c.stroke();
  }
  const ys = pushedApart(named.map((p) => plot.Y(p.end[1])), 15 * k, top + 6 * k, top + height);
  named.forEach((p, i) => {
    const x = Math.min(Math.max(...d.items.filter((it) => it.mode === p.it.mode).map(end).filter(Boolean).map((e) => plot.X(e[0]))), left + width);
    const tx = x + 8 * k;
    if (Math.abs(ys[i] - plot.Y(p.end[1])) > 9 * k) {
      c.strokeStyle = colour(p.it.line);
      c.lineWidth = k;
      c.beginPath(); c.moveTo(plot.X(p.end[0]) + 3 * k, plot.Y(p.end[1])); c.lineTo(tx - 2 * k, ys[i] - 1 * k); c.stroke();
    }
    text(p.it.short, tx, ys[i] + 4 * k, { weight: 700, size: 13.5, fill: wordColour(p.it.line), halo: true });
  });
}
