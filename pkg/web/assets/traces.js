// Arithmetic on traces: aligning, sampling, the time gained. No page in here.

const before = 0.5; // s before the launch from which a run is drawn, as in the figures of the report

/** lerp is ys at a value of xs, which rises; null outside. */
export function lerp(xs, ys, x) {
  let lo = 0, hi = xs.length - 1;
  if (hi < 0 || !(x >= xs[0]) || !(x <= xs[hi])) return null;
  while (hi - lo > 1) {
    const m = (lo + hi) >> 1;
    if (xs[m] <= x) lo = m; else hi = m;
  }
  const a = ys[lo], b = ys[hi];
  if (a === null || b === null || a === undefined || b === undefined) return null;
  return xs[hi] === xs[lo] ? a : a + (b - a) * (x - xs[lo]) / (xs[hi] - xs[lo]);
}

/** crossing is where ys first reaches y, going up, as a value of xs. */
export function crossing(xs, ys, y) {
  for (let i = 1; i < ys.length; i++) {
    if (ys[i] >= y && ys[i - 1] < y) return xs[i - 1] + (xs[i] - xs[i - 1]) * (y - ys[i - 1]) / (ys[i] - ys[i - 1]);
  }
  return null;
}

/** rising are the places at which a column is higher than ever before. */
function rising(col) {
  const out = [];
  let top = -Infinity;
  col.forEach((x, i) => { if (x > top) { top = x; out.push(i); } });
  return out;
}

/** curve is a run along an axis, in the units of the page, from the origin: the instants
 *  x, the speed v and its half-width vu, the acceleration a in g and au, time t and
 *  distance s; null for a run that never has the speed it is aligned at. Standing starts
 *  end at their highest speed. */
export function curve(raw, o) {
  const u = o.units;
  let t0 = 0, s0 = 0;
  if (o.from === "rollout") { t0 = raw.t0 > 0 ? raw.t0 : 0; s0 = t0 ? lerp(raw.t, raw.s, t0) : 0; }
  else if (o.from !== "launch") {
    t0 = crossing(raw.t, raw.v, +o.from * u.per);
    if (t0 === null) return null;
    s0 = lerp(raw.t, raw.s, t0);
  }
  let first = raw.t.findIndex((t) => t >= -before), last = raw.t.length - 1;
  if (first < 0) first = 0;
  if (o.toTop) { last = first; for (let i = first; i < raw.v.length; i++) if (raw.v[i] > raw.v[last]) last = i; }
  const part = (col, f) => col.slice(first, last + 1).map((x) => (x === null ? null : f(x)));
  const all = { t: part(raw.t, (x) => x - t0), s: part(raw.s, (x) => (x - s0) / u.distancePer), v: part(raw.v, (x) => x / u.per), a: part(raw.a, (x) => x / u.gravity),
    vu: part(raw.sv, (x) => x / u.per), au: part(raw.sa, (x) => x / u.gravity) };
  const way = rising(all.s); // time over distance, to see what was gained
  all.along = { s: way.map((i) => all.s[i]), t: way.map((i) => all.t[i]) };
  const x = { time: "t", distance: "s", speed: "v" }[o.by];
  const keep = o.by === "time" ? null : o.by === "distance" ? way : rising(all.v);
  if (keep) for (const k of ["t", "s", "v", "a", "vu", "au"]) all[k] = keep.map((i) => all[k][i]);
  all.x = all[x];
  return all;
}

/** meanCurve is the mean of a mode, which comes along an axis and along the distance, as a curve. */
export function meanCurve(m, far, by) {
  const along = far ? { s: far.x, t: far.t } : null;
  const t = by === "time" ? m.x : m.t;
  const s = by === "distance" ? m.x : t.map((at) => (along ? lerp(along.t, along.s, at) : null));
  return { x: m.x, v: by === "speed" ? m.x : m.v, vu: m.vu, a: m.a, au: m.au, t, s, along };
}

/** grid is a common axis for curves: fine enough for 100 Hz at the launch. */
export function grid(curves, by) {
  let lo = Infinity, hi = -Infinity;
  for (const c of curves) if (c.x.length) { lo = Math.min(lo, c.x[0]); hi = Math.max(hi, c.x[c.x.length - 1]); }
  if (!(hi > lo)) return [];
  const least = { time: 0.01, distance: 0.5, speed: 0.05 }[by];
  const step = Math.max(least, (hi - lo) / 3000), x = [];
  for (let k = Math.ceil(lo / step); k * step <= hi; k++) x.push(k * step);
  return x;
}

/** Sampled is a curve on a grid; a column is worked out when it is first asked for. */
export class Sampled {
  constructor(c, x) { Object.assign(this, { c, x, known: {} }); }
  col(k) { return (this.known[k] ??= sample(this.c, k, this.x)); }
  get v() { return this.col("v"); }
  get vu() { return this.col("vu"); }
  get a() { return this.col("a"); }
  get au() { return this.col("au"); }
  get t() { return this.col("t"); }
  get s() { return this.col("s"); }
  /** gain is the time gained on a reference. */
  gain(along) { return (this.known.gain ??= gained(this, along)); }
}

/** sample is a column of a curve on a grid, by one walk along both. */
function sample(c, k, x) {
  const n = c.x.length, xs = c.x, col = c[k], out = new Array(x.length).fill(null);
  if (!col || n < 2) return out;
  for (let j = 0, i = 0; j < x.length; j++) {
    const at = x[j];
    if (at < xs[0]) continue;
    if (at > xs[n - 1]) break;
    while (i < n - 2 && xs[i + 1] < at) i++;
    const a = col[i], b = col[i + 1];
    if (a !== null && b !== null && a !== undefined && b !== undefined) out[j] = a + (b - a) * (at - xs[i]) / (xs[i + 1] - xs[i]);
  }
  return out;
}

/** gained is how far ahead of a reference each point of a sampled curve is, in s: above
 *  zero it came by earlier. Distances grow along a run, so that one walk does. */
function gained(of, along) {
  const t = of.t, s = of.s, out = new Array(t.length).fill(null);
  if (!along) return out;
  const n = along.s.length;
  for (let j = 0, i = 0; j < t.length; j++) {
    if (t[j] === null || s[j] === null || s[j] < along.s[0] || s[j] > along.s[n - 1]) continue;
    while (i > 0 && along.s[i] > s[j]) i--;
    while (i < n - 2 && along.s[i + 1] < s[j]) i++;
    out[j] = along.t[i] + (along.t[i + 1] - along.t[i]) * (s[j] - along.s[i]) / (along.s[i + 1] - along.s[i] || 1) - t[j];
  }
  return out;
}

/** upTo is where along its axis a curve meets a target: a speed, or a distance from the origin. */
export function upTo(c, target) {
  return target.speed ? crossing(c.x, c.v, target.speed) : crossing(c.x, c.s, target.distance);
}
