// Arithmetic on traces: aligning, interpolating, the time gap. No page in here.

/** styles are the lines of runs by the session's lines: a mode has its colour and its
 *  dash, the runs of one mode differ by weight. A run without a mode is grey. */
export function styles(lines, ids) {
  const seen = new Map();
  return ids.map((id) => {
    const at = lines.runs[id] ?? -1, n = seen.get(at) || 0;
    seen.set(at, n + 1);
    const mode = lines.modes[at] || { light: "#5c656e", dark: "#a3abb3", dash: [] };
    const w = lines.weights[n % lines.weights.length];
    return { light: mode.light, dark: mode.dark, dash: mode.dash, width: 2 * w.width, opacity: w.opacity };
  });
}

/** faded is a colour #rrggbb with an opacity. */
export const faded = (colour, opacity) => colour + Math.round(255 * opacity).toString(16).padStart(2, "0");

const rollout = 0.3048; // m, SAE J1491:2006 initial vehicle movement

/** crossing is where ys first reaches y, going up, as a value of xs. */
export function crossing(xs, ys, y) {
  for (let i = 1; i < ys.length; i++) {
    if (ys[i] >= y && ys[i - 1] < y) return xs[i - 1] + (xs[i] - xs[i - 1]) * (y - ys[i - 1]) / (ys[i] - ys[i - 1]);
  }
  return null;
}

function lerp(xs, ys, x) {
  let lo = 0, hi = xs.length - 1;
  if (!(x >= xs[0]) || !(x <= xs[hi])) return null;
  while (hi - lo > 1) {
    const m = (lo + hi) >> 1;
    if (xs[m] <= x) lo = m; else hi = m;
  }
  const a = ys[lo], b = ys[hi];
  if (a === null || b === null || a === undefined || b === undefined) return null;
  return xs[hi] === xs[lo] ? a : a + (b - a) * (x - xs[lo]) / (xs[hi] - xs[lo]);
}

/** Trace is one run, aligned. */
export class Trace {
  constructor(raw) {
    Object.assign(this, raw);
    // Distance as an axis: from the launch on, and only where it grows.
    this.di = [];
    let last = -Infinity;
    for (let i = 0; i < this.t.length; i++) {
      if (this.t[i] < 0 || !(this.s[i] > last)) continue;
      last = this.s[i];
      this.di.push(i);
    }
    this.ds = this.di.map((i) => this.s[i]);
    this.dt = this.di.map((i) => this.t[i]);
  }

  /** align puts the zero of time and distance at an instant of the run. */
  align(how, speed) {
    this.t0 = 0;
    this.s0 = 0;
    this.ok = true;
    if (how === "rollout") {
      this.t0 = crossing(this.dt, this.ds, rollout);
      this.s0 = rollout;
    } else if (how === "speed") {
      this.t0 = crossing(this.t, this.v, speed);
      this.s0 = this.t0 === null ? 0 : lerp(this.t, this.s, this.t0);
    }
    if (this.t0 === null) { this.ok = false; this.t0 = 0; this.s0 = 0; }
  }

  range(axis) {
    if (axis === "distance") return [this.ds[0] - this.s0, this.ds[this.ds.length - 1] - this.s0];
    return [this.t[0] - this.t0, this.t[this.t.length - 1] - this.t0];
  }

  /** time is the instant, in the trace's own time, at a place of the axis. */
  time(axis, x) {
    return axis === "distance" ? lerp(this.ds, this.dt, x + this.s0) : x + this.t0;
  }

  /** at gives all values at a place of the axis, null beyond the ends. */
  at(axis, x) {
    const t = this.time(axis, x);
    if (t === null || !(t >= this.t[0]) || !(t <= this.t[this.t.length - 1])) return null;
    return { t: t - this.t0, s: lerp(this.t, this.s, t) - this.s0, v: lerp(this.t, this.v, t), a: lerp(this.t, this.a, t),
      sv: lerp(this.t, this.sv, t), sa: lerp(this.t, this.sa, t) };
  }

  /** after is the time at which a distance, from the zero, was covered. */
  after(s) {
    const t = lerp(this.ds, this.dt, s + this.s0);
    return t === null ? null : t - this.t0;
  }
}

/** columns samples traces on a common axis for a chart: x, in the reader's unit, then
 *  for each trace the value and the lower and upper edge of its band. */
export function columns(traces, o) {
  let lo = Infinity, hi = -Infinity;
  for (const tr of traces) {
    const [a, b] = tr.range(o.axis);
    lo = Math.min(lo, a);
    hi = Math.max(hi, b);
  }
  if (!(hi > lo)) return { x: [], cols: [], gap: [] };
  const least = o.axis === "distance" ? 0.1 : 0.01;
  const step = Math.max(least, (hi - lo) / 3000);
  const x = [];
  for (let k = Math.ceil(lo / step); k * step <= hi; k++) x.push(k * step);
  const field = o.quantity === "accel" ? "a" : "v", wide = o.quantity === "accel" ? "sa" : "sv";
  const per = o.quantity === "accel" ? 1 : o.per;
  const cols = [], gap = [];
  for (const tr of traces) {
    const y = [], a = [], b = [], g = [];
    for (const at of x) {
      const p = tr.at(o.axis, at);
      const ok = p && p[field] !== null;
      y.push(ok ? p[field] / per : null);
      a.push(ok && p[wide] !== null ? (p[field] - p[wide]) / per : null);
      b.push(ok && p[wide] !== null ? (p[field] + p[wide]) / per : null);
      if (o.axis === "distance") {
        const t1 = tr.after(at), t2 = traces[0].after(at);
        g.push(t1 === null || t2 === null ? null : t1 - t2);
      }
    }
    cols.push({ y, lo: a, hi: b });
    gap.push(g);
  }
  const shown = o.axis === "distance" ? x.map((at) => at / o.distancePer) : x;
  return { x: shown, cols, gap };
}
