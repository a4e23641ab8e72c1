// A chart on the page, drawn by uPlot in the colours of the sheet.
import { faded } from "./traces.js";

let printing = false;
const onPaper = { "--ink": "#000000", "--rule": "#bbbbbb" };

/** whenPrinting has charts drawn for paper while the sheet is printed. */
export function whenPrinting(draw) {
  addEventListener("beforeprint", () => { printing = true; draw(); });
  addEventListener("afterprint", () => { printing = false; draw(); });
}

export const isDark = () => !printing && matchMedia("(prefers-color-scheme: dark)").matches;
/** colour is that of a line on the page as it is. */
export const colour = (line) => (isDark() ? line.dark : line.light);
const ink = (name) => (printing ? onPaper[name] : getComputedStyle(document.documentElement).getPropertyValue(name).trim());

export class Plot {
  /** o: lines [{name, light, dark, dash, width, opacity}], x, cols [{y, lo, hi}], bands, xName,
   *  yName, height, onmove(x), onrange(a, b). */
  constructor(el, o) {
    this.el = el;
    this.o = o;
    const series = [{}], data = [o.x], bands = [];
    o.lines.forEach((l, i) => {
      const c = colour(l);
      if (o.bands && o.cols[i].hi) {
        series.push({ stroke: "transparent", points: { show: false } }, { stroke: "transparent", points: { show: false } });
        data.push(o.cols[i].hi, o.cols[i].lo);
        bands.push({ series: [data.length - 2, data.length - 1], fill: faded(c, 0.18 * l.opacity) });
      }
      series.push({ label: l.name, stroke: faded(c, l.opacity), width: l.width, dash: l.dash, points: { show: false } });
      data.push(o.cols[i].y);
    });
    const axis = (label, size) => ({ label, size, stroke: ink("--ink"), font: "13px system-ui, sans-serif", labelFont: "13px system-ui, sans-serif", labelSize: 22,
      grid: { stroke: ink("--rule"), width: 1 }, ticks: { stroke: ink("--rule"), width: 1, size: 5 } });
    this.u = new uPlot({
      width: this.width(), height: this.height(), series, bands, legend: { show: false },
      scales: { x: { time: false } },
      axes: [axis(o.xName, 34), axis(o.yName, 48)],
      cursor: { points: { show: false }, y: false, drag: { x: true, y: false } },
      hooks: {
        ready: [() => queueMicrotask(() => o.onready?.(this))],
        setCursor: [(u) => { if (o.onmove && u.cursor.left >= 0) o.onmove(u.posToVal(u.cursor.left, "x")); }],
        setScale: [(u, k) => { if (k === "x" && o.onrange) o.onrange(u.scales.x.min, u.scales.x.max); }],
      },
    }, data, el);
    this.over = this.u.over;
    this.mouse();
  }

  width() { return Math.max(240, this.el.clientWidth); }
  height() { return this.el.clientWidth < 480 ? Math.min(this.o.height, 260) : this.o.height; }
  resize() { this.u.setSize({ width: this.width(), height: this.height() }); }
  range() { return [this.u.scales.x.min, this.u.scales.x.max]; }
  ends() { return [this.o.x[0], this.o.x[this.o.x.length - 1]]; }

  /** show sets the visible range, kept within the data. */
  show(a, b) {
    const [lo, hi] = this.ends();
    const w = Math.min(Math.max(b - a, (hi - lo) / 400), hi - lo);
    a = Math.min(Math.max(a, lo), hi - w);
    const [was, to] = this.range();
    if (Math.abs(was - a) + Math.abs(to - (a + w)) < 1e-9) return;
    this.u.setScale("x", { min: a, max: a + w });
  }

  zoom(f) {
    const [a, b] = this.range();
    const at = this.x ?? (a + b) / 2;
    const c = at > a && at < b ? at : (a + b) / 2;
    this.show(c - (c - a) * f, c + (b - c) * f);
  }

  pan(f) {
    const [a, b] = this.range();
    this.show(a + f * (b - a), b + f * (b - a));
  }

  reset() { this.show(...this.ends()); }

  /** cursorAt puts the cursor at a place of the axis. */
  cursorAt(x) {
    this.x = x;
    this.u.setCursor({ left: this.u.valToPos(x, "x"), top: 10 });
    this.o.onmove?.(x);
  }

  /** mouse adds what uPlot leaves to its user: moving with Shift, and the wheel
   *  with Ctrl, so that plain scrolling goes on to the page. */
  mouse() {
    let from = null;
    this.over.addEventListener("mousedown", (e) => {
      if (!e.shiftKey) return;
      e.stopImmediatePropagation();
      from = { x: e.clientX, range: this.range() };
    }, true);
    this.up = () => { from = null; };
    this.drag = (e) => {
      if (!from) return;
      const [a, b] = from.range;
      const d = (e.clientX - from.x) / this.over.clientWidth * (b - a);
      this.show(a - d, b - d);
    };
    addEventListener("mousemove", this.drag);
    addEventListener("mouseup", this.up);
    this.over.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && !e.metaKey) return;
      e.preventDefault();
      this.x = this.u.posToVal(e.offsetX, "x");
      this.zoom(e.deltaY > 0 ? 1.25 : 0.8);
    }, { passive: false });
  }

  destroy() {
    removeEventListener("mousemove", this.drag);
    removeEventListener("mouseup", this.up);
    this.u.destroy();
  }
}
