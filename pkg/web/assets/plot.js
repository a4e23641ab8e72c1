// A chart of the sheet, drawn by uPlot: hairlines, one rule beneath, no frame.
import { colour, faded, printed, role } from "./colours.js";

const sans = '"Segoe UI", "Helvetica Neue", "Liberation Sans", Arial, sans-serif';
const onPaper = 990; // px that a sheet of A4 across has room for
const near = 14; // px within which a line is pointed at

export class Plot {
  /** o: room (px wide), x, items [{line, width, opacity, dash, mean, y, lo, hi}], height, yName, bottom, right,
   *  bold(value), range, onmove(x), onrange(a, b), onpick(item, alone), onall(), decorate(plot). */
  constructor(el, o) {
    this.el = el;
    this.o = o;
    this.first = !!o.range; // until it is drawn once, the range that was asked for stands
    const series = [{}], data = [o.x], bands = [];
    this.at = []; // the series of each item
    o.items.forEach((it) => {
      const c = colour(it.line);
      if (it.lo) {
        series.push({ stroke: "transparent", points: { show: false } }, { stroke: "transparent", points: { show: false } });
        data.push(it.hi, it.lo);
        bands.push({ series: [data.length - 2, data.length - 1], fill: faded(c, it.mean ? 0.16 : 0.12) });
      }
      this.at.push(data.length);
      series.push({ stroke: faded(c, it.opacity), width: it.width, dash: it.dash, points: { show: false } });
      data.push(it.y);
    });
    const font = `12px ${sans}`;
    const axis = (more) => ({ stroke: role("--soft"), font, ticks: { show: false }, ...more });
    this.u = new uPlot({
      width: this.width(), height: o.height, series, bands, legend: { show: false }, padding: [10, o.right || 8, 0, 0],
      scales: { x: { time: false, range: (u, lo, hi) => (this.first ? o.range : [lo, hi]) }, y: { range: (u, lo, hi) => o.yRange ? o.yRange(lo, hi) : uPlot.rangeNum(lo, hi, 0.04, true) } },
      axes: [axis({ size: o.bottom ? 22 : 2, grid: { show: false }, values: o.bottom ? undefined : () => [], border: { show: true, stroke: role("--rule"), width: 1 }, ticks: { show: !!o.bottom, stroke: role("--rule"), width: 1, size: 5 }, gap: 4 }),
        axis({ size: 40, gap: 6, space: o.height > 200 ? 26 : 22, grid: { stroke: role("--hair"), width: 1 } })],
      cursor: { points: { show: false }, y: false, drag: { x: true, y: false, dist: 6 }, focus: { prox: o.items.length > 1 ? near : -1 }, bind: { dblclick: () => null } },
      focus: { alpha: 0.25 },
      hooks: {
        setCursor: [(u) => { if (!this.moving && u.cursor.left >= 0) { this.x = u.posToVal(u.cursor.left, "x"); o.onmove?.(this.x); } }],
        setScale: [(u, k) => { if (k === "x" && this.u && !this.first && !this.following) o.onrange?.(u.scales.x.min, u.scales.x.max); }],
        draw: [() => { this.first = false; o.decorate?.(this); }],
      },
    }, data, el);
    this.over = this.u.over;
    this.mouse();
    this.touch();
  }

  width(room = this.o.room ?? this.el.clientWidth) { return Math.max(240, Math.min(room, printed() ? onPaper : Infinity)); }
  resize() { if (this.el.clientWidth) this.u.setSize({ width: this.width(this.el.clientWidth), height: this.o.height }); }
  range() { return [this.u.scales.x.min, this.u.scales.x.max]; }
  ends() { return [this.o.x[0], this.o.x[this.o.x.length - 1]]; }
  X(x) { return this.u.valToPos(x, "x", true); }
  Y(y) { return this.u.valToPos(y, "y", true); }

  /** show sets the visible range, kept within the data. */
  show(a, b) {
    const [lo, hi] = this.ends();
    const w = Math.min(Math.max(b - a, (hi - lo) / 400), hi - lo);
    a = Math.min(Math.max(a, lo), hi - w);
    const [was, to] = this.range();
    if (Math.abs(was - a) + Math.abs(to - (a + w)) < 1e-9) return;
    this.u.setScale("x", { min: a, max: a + w });
  }

  /** follow shows what another chart of the same axis shows. */
  follow(a, b) {
    this.following = true;
    this.u.setScale("x", { min: a, max: b });
    this.following = false;
  }

  zoom(f, at = this.x) {
    const [a, b] = this.range();
    const c = at > a && at < b ? at : (a + b) / 2;
    this.show(c - (c - a) * f, c + (b - c) * f);
  }

  pan(f) { const [a, b] = this.range(); this.show(a + f * (b - a), b + f * (b - a)); }
  reset() { this.show(...this.ends()); }

  /** cursorAt puts the cursor at a place of the axis. */
  cursorAt(x) {
    this.x = x;
    this.moving = true;
    const left = this.u.valToPos(x, "x"), [a, b] = this.range();
    this.u.setCursor(x >= a && x <= b ? { left, top: 10 } : { left: -10, top: -10 });
    this.moving = false;
  }

  /** pointed is the item whose line lies nearest to a place, within a few pixels. */
  pointed(left, top) {
    const i = this.u.posToIdx(left);
    let best = null, least = near;
    this.o.items.forEach((it) => {
      const y = it.y[i];
      const d = y === null || y === undefined ? Infinity : Math.abs(this.u.valToPos(y, "y") - top);
      if (d < least) { least = d; best = it; }
    });
    return best;
  }

  /** mouse: drag zooms, Shift-drag moves, Ctrl and wheel zoom; a click hides the run pointed
   *  at, a double click shows it alone, and beside all runs shows all. */
  mouse() {
    let from = null, down = null, timer = 0;
    this.over.addEventListener("mousedown", (e) => {
      down = [e.clientX, e.clientY];
      if (!e.shiftKey) return;
      e.stopImmediatePropagation();
      from = { x: e.clientX, range: this.range() };
    }, true);
    this.over.addEventListener("click", (e) => {
      if (!down || Math.hypot(e.clientX - down[0], e.clientY - down[1]) > 4) return;
      const it = this.pointed(e.offsetX, e.offsetY);
      clearTimeout(timer);
      if (e.detail > 1) return it ? this.o.onpick?.(it, true) : this.o.onall?.();
      if (it) timer = setTimeout(() => this.o.onpick?.(it, false), 300);
    });
    this.up = () => { from = null; };
    this.drag = (e) => {
      if (!from) return;
      const [a, b] = from.range, d = (e.clientX - from.x) / this.over.clientWidth * (b - a);
      this.show(a - d, b - d);
    };
    addEventListener("mousemove", this.drag);
    addEventListener("mouseup", this.up);
    this.over.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && !e.metaKey) return;
      e.preventDefault();
      this.zoom(e.deltaY > 0 ? 1.25 : 0.8, this.u.posToVal(e.offsetX, "x"));
    }, { passive: false });
  }

  /** touch: one finger moves the cursor, two zoom about the place between them. */
  touch() {
    const left = (t) => t.clientX - this.over.getBoundingClientRect().left;
    let two = null;
    const begin = (e) => {
      if (e.touches.length === 2) {
        const [p, q] = [...e.touches].map(left);
        two = { w: Math.max(20, Math.abs(p - q)), at: this.u.posToVal((p + q) / 2, "x"), range: this.range() };
      }
    };
    this.over.addEventListener("touchstart", begin, { passive: true });
    this.over.addEventListener("touchmove", (e) => {
      if (e.touches.length === 2 && two) {
        e.preventDefault();
        const [p, q] = [...e.touches].map(left);
        const f = two.w / Math.max(20, Math.abs(p - q)), [a, b] = two.range;
        this.show(two.at - (two.at - a) * f, two.at + (b - two.at) * f);
      } else if (e.touches.length === 1) {
        const x = this.u.posToVal(Math.min(Math.max(left(e.touches[0]), 0), this.over.clientWidth), "x");
        this.cursorAt(x);
        this.o.onmove?.(x);
      }
    }, { passive: false });
    this.over.addEventListener("touchend", () => { two = null; });
  }

  destroy() {
    removeEventListener("mousemove", this.drag);
    removeEventListener("mouseup", this.up);
    this.u.destroy();
  }
}
