// Hands on the sheet: wheel, drag, pinch and keys.

import type { Chart } from "./chart";
import type { Model } from "./model";
import { valueOf } from "./row";
import { moved, zoomed } from "./span";
import { nearest } from "./view";

/** How near to the ring a finger or pointer takes hold of it, px. */
const reach = { mouse: 12, pen: 14, touch: 24 } as Record<string, number>;
/** A press that moves less is a click, px. */
const still = 4;

interface Touch {
  x: number;
  y: number;
}

export class Gestures {
  private touches = new Map<number, Touch>();
  private began: Touch | null = null;
  private panned = false;
  private holding = false;

  constructor(
    private chart: Chart,
    private m: Model,
    private letGo: () => void,
  ) {
    const { canvas } = chart;
    canvas.addEventListener("wheel", (e) => this.wheel(e), { passive: false });
    canvas.addEventListener("pointerdown", (e) => this.down(e));
    canvas.addEventListener("pointermove", (e) => this.move(e));
    canvas.addEventListener("pointerup", (e) => this.up(e, true));
    canvas.addEventListener("pointercancel", (e) => this.up(e, false));
    // A finger on the ring drags it; elsewhere an upright stroke scrolls the page.
    canvas.addEventListener("touchstart", (e) => this.touch(e), { passive: false });
    canvas.addEventListener("dblclick", () => (m.span = m.whole));
    canvas.addEventListener("keydown", (e) => this.key(e));
  }

  /** The shortest stretch that can be shown: three frames. */
  private get least(): number {
    const { times, from, to } = this.m.view;
    return (3 * (times[to] - times[from])) / Math.max(1, to - from);
  }

  zoom(by: number, about = this.m.view.times[this.m.frame]) {
    this.m.span = zoomed(this.m.span, about, by, this.m.whole, this.least);
  }

  private at = (e: PointerEvent | WheelEvent): Touch => ({ x: e.offsetX, y: e.offsetY });

  // The wheel scrolls the page, as everywhere, until the sheet was clicked: from then on it enlarges. Ctrl, Alt or a pinch on
  // the pad enlarge in any case; sideways, or with Shift, it moves.
  private wheel(e: WheelEvent) {
    const { m, chart } = this;
    const unit = e.deltaMode === WheelEvent.DOM_DELTA_LINE ? 20 : 1;
    const meant = e.ctrlKey || e.altKey || e.metaKey;
    const sideways = e.shiftKey && !e.deltaX ? e.deltaY : e.deltaX;
    const upright = e.shiftKey ? 0 : e.deltaY;
    if (meant || (Math.abs(upright) > Math.abs(sideways) && document.activeElement === chart.canvas)) {
      e.preventDefault();
      this.zoom(Math.exp((-(upright || sideways) * unit) / 300), chart.timeAt(e.offsetX));
      return;
    }
    if (Math.abs(sideways) <= Math.abs(upright)) return;
    e.preventDefault();
    m.span = moved(m.span, chart.timeAt(sideways * unit) - chart.timeAt(0), m.whole);
  }

  private near(x: number, y: number, within: number): boolean {
    const h = this.chart.handle();
    return h !== null && Math.hypot(h.x - x, h.y - y) < within;
  }

  private touch(e: TouchEvent) {
    const box = this.chart.canvas.getBoundingClientRect();
    const t = e.changedTouches[0];
    if (this.near(t.clientX - box.left, t.clientY - box.top, reach.touch)) e.preventDefault();
  }

  private down(e: PointerEvent) {
    if (e.button !== 0) return;
    this.chart.canvas.setPointerCapture(e.pointerId);
    this.touches.set(e.pointerId, this.at(e));
    if (this.touches.size > 1) {
      this.panned = true; // a second finger: a pinch, no click
      this.holding = false;
      this.m.held = null;
      return;
    }
    this.began = this.at(e);
    this.panned = false;
    this.holding = this.near(e.offsetX, e.offsetY, reach[e.pointerType] ?? reach.mouse);
  }

  private move(e: PointerEvent) {
    const last = this.touches.get(e.pointerId);
    const now = this.at(e);
    if (!last) return this.hover(e);
    if (this.touches.size === 2) return this.pinch(e.pointerId, last, now);
    if (!this.panned && this.began && Math.hypot(now.x - this.began.x, now.y - this.began.y) < still) return;
    this.panned = true;
    this.touches.set(e.pointerId, now);
    const { m, chart } = this;
    if (this.holding) m.holdHeight(m.frame, valueOf(chart.rows.streak, now.y));
    else m.span = moved(m.span, chart.timeAt(last.x) - chart.timeAt(now.x), m.whole);
  }

  private hover(e: PointerEvent) {
    this.chart.canvas.style.cursor = this.near(e.offsetX, e.offsetY, reach[e.pointerType] ?? reach.mouse) ? "ns-resize" : "";
  }

  private pinch(id: number, last: Touch, now: Touch) {
    const [other] = [...this.touches].filter(([k]) => k !== id).map(([, t]) => t);
    const [before, after] = [Math.abs(last.x - other.x), Math.abs(now.x - other.x)];
    this.touches.set(id, now);
    if (before < 10 || after < 10) return;
    const about = this.chart.timeAt((now.x + other.x) / 2);
    this.m.span = moved(zoomed(this.m.span, about, after / before, this.m.whole, this.least), this.chart.timeAt(last.x / 2) - this.chart.timeAt(now.x / 2), this.m.whole);
  }

  private up(e: PointerEvent, whole: boolean) {
    if (!this.touches.delete(e.pointerId)) return;
    const { m } = this;
    if (this.holding && this.panned) {
      if (whole) this.letGo();
      else m.held = null;
    } else if (whole && !this.panned && this.touches.size === 0) m.frame = nearest(m.view.times, this.chart.timeAt(e.offsetX));
    if (this.touches.size === 0) this.holding = false;
  }

  private key(e: KeyboardEvent) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const { m } = this;
    const step = e.shiftKey ? 10 : 1;
    const deeds: Record<string, () => void> = {
      ArrowRight: () => (m.frame += step),
      ArrowLeft: () => (m.frame -= step),
      ArrowUp: () => (m.frame += step),
      ArrowDown: () => (m.frame -= step),
      PageUp: () => (m.frame += 10),
      PageDown: () => (m.frame -= 10),
      Home: () => (m.frame = m.view.from),
      End: () => (m.frame = m.view.to),
      "+": () => this.zoom(1.5),
      "=": () => this.zoom(1.5),
      "-": () => this.zoom(1 / 1.5),
      "0": () => (m.span = m.whole),
    };
    const deed = deeds[e.key];
    if (!deed) return;
    e.preventDefault();
    deed();
  }
}
