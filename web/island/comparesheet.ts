// Heights, speeds and accelerations of several launches on one axis of time that begins with each one's first motion.

import { el } from "../client/draw";
import type { CompareCurve, CompareView } from "./compareview";
import { strokeOf } from "./compareview";
import { dashes, inks } from "./inks";
import { coverage, factorOf, plain, printed, unitOf, Units, withInterval } from "./reading";
import { crisp, Curve, drawBand, drawCurve, Frame, inside, labels, paper, Row, tOf, xOf, yOf } from "./row";
import { moved, rulings, Span, zoomed } from "./span";
import { nearest } from "./view";

const parts = ["height", "speed", "acceleration"] as const;
type Part = (typeof parts)[number];
const names: Record<Part, string> = { height: "Height", speed: "Speed", acceleration: "Acceleration" };
const quantity = { height: "length", speed: "speed", acceleration: "acceleration" } as const;

const gap = 14;
const axis = 26;

export class CompareSheet {
  readonly box: HTMLElement;
  private canvas = el("canvas", { tabindex: 0, role: "slider", "aria-label": "Time after first motion", "aria-describedby": "compare-keys" });
  private c = this.canvas.getContext("2d")!;
  private values: Record<Part, HTMLElement> = { height: el("div", { class: "reading" }), speed: el("div", { class: "reading" }), acceleration: el("div", { class: "reading" }) };
  private time = el("div", { class: "time" });
  private curves: Record<Part, Curve>[];
  private whole: Span;
  private span: Span;
  private at: number;
  private due = false;
  private width = 0;
  private rows!: Record<Part, Row>;
  private frame!: Frame;
  private pressed: { x: number; moved: boolean } | null = null;

  constructor(
    v: CompareView,
    private units: Units,
  ) {
    this.curves = v.curves.map((k) => this.curvesOf(k));
    const ends = v.curves.filter((k) => k.t.length > 1).map((k) => [k.t[0], k.t[k.t.length - 1]]);
    const to = Math.max(0.001, ...ends.map((e) => e[1]));
    const from = Math.max(Math.min(0, ...ends.map((e) => e[0])), -0.15 * to);
    this.whole = { from, to: to + 0.02 * (to - from) };
    this.span = { ...this.whole };
    this.at = to / 2;
    this.listen();
    this.box = this.build();
    new ResizeObserver(() => this.fit()).observe(this.canvas);
    document.addEventListener("themechange", () => this.draw());
    void document.fonts.ready.then(() => this.draw());
    this.read();
  }

  private curvesOf(k: CompareCurve): Record<Part, Curve> {
    const of = (p: Part): Curve => ({ t: k.t, v: k[p], half: k[`u_${p}`].map((u) => coverage * u) });
    return { height: of("height"), speed: of("speed"), acceleration: of("acceleration") };
  }

  private build(): HTMLElement {
    const head = el("div", { class: "instant" }, this.time, el("p", { class: "frame-of" }, "from first motion"));
    const zoom = (by: number) => () => this.zoom(by, this.at);
    const button = (text: string, click: () => void) => el("button", { type: "button", class: "quiet", click }, text);
    return el(
      "section",
      { class: this.curves.length > 8 ? "together crowd" : this.curves.length > 5 ? "together many" : "together", "aria-label": "Launches on one axis of time" },
      head,
      ...parts.map((p) => el("div", { class: `at ${p}-at` }, this.values[p])),
      el("div", { class: "paper" }, this.canvas),
      el(
        "div",
        { class: "foot" },
        el("p", { class: "axis-of" }, "milliseconds from first motion of each"),
        el("div", { class: "zooms", role: "group", "aria-label": "Stretch of time shown" }, button("Closer", zoom(2)), button("Wider", zoom(0.5)), button("All of it", () => this.show(this.whole))),
      ),
      el("p", { class: "spoken", id: "compare-keys" }, "Arrow keys move the cursor, plus and minus enlarge and reduce, 0 shows all."),
    );
  }

  private fit() {
    this.width = this.canvas.getBoundingClientRect().width;
    const h = this.width < 560 ? [200, 130, 130] : [300, 180, 180];
    const height = h[0] + h[1] + h[2] + 2 * gap + axis;
    this.canvas.style.height = `${height}px`;
    this.canvas.width = Math.round(this.width * devicePixelRatio);
    this.canvas.height = Math.round(height * devicePixelRatio);
    let top = 0;
    this.rows = {} as Record<Part, Row>;
    parts.forEach((p, i) => {
      const [low, high] = this.range(p);
      this.rows[p] = { top, height: h[i], low, high };
      top += h[i] + gap;
      this.box.style.setProperty(`--row-${i}`, `${h[i]}px`);
    });
    this.draw();
  }

  private range(p: Part): [number, number] {
    let [low, high] = [0, 0];
    for (const k of this.curves) k[p].v.forEach((v, i) => k[p].t[i] >= this.whole.from && ([low, high] = [Math.min(low, v), Math.max(high, v)]));
    const room = 0.08 * (high - low) || 1;
    return [low - room, high + room];
  }

  private draw() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      if (this.width > 0) this.paint();
    });
  }

  private paint() {
    const { c, rows } = this;
    const k = inks();
    const f = (this.frame = { left: 48, right: this.width - 8, span: this.span });
    c.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    c.clearRect(0, 0, this.canvas.width, this.canvas.height);
    const ms = (want: number) => rulings(f.span.from * 1e3, f.span.to * 1e3, (f.right - f.left) / want);
    const [strong, fine] = [ms(95), ms(19)];
    const seconds = (list: number[]) => list.map((t) => t / 1e3);
    for (const p of parts) {
      paper(c, f, rows[p], k, { strong: seconds(strong.at), fine: seconds(fine.at) }, factorOf(this.units, quantity[p]));
      inside(c, f, rows[p], () => this.curvesIn(f, p));
    }
    const bottom = rows.acceleration.top + rows.acceleration.height;
    c.fillStyle = k.faint;
    c.font = `13px ${k.figures}`;
    c.textAlign = "center";
    c.textBaseline = "top";
    for (const t of strong.at) {
      const x = xOf(f, t / 1e3);
      if (x > f.left + 4 && x < f.right - 10) c.fillText(plain(t, strong.places), x, bottom + 6);
    }
    const x = xOf(f, this.at);
    if (x < f.left || x > f.right) return;
    for (const [ink, width] of [[k.paper, 3], [k.cursor, 1]] as const) {
      c.strokeStyle = ink;
      c.lineWidth = width;
      c.beginPath();
      c.moveTo(crisp(x), 0);
      c.lineTo(crisp(x), bottom);
      c.stroke();
    }
  }

  private curvesIn(f: Frame, p: Part) {
    const { c } = this;
    const k = inks();
    const r = this.rows[p];
    this.curves.forEach((curve, i) => drawBand(c, f, r, curve[p], k.band[strokeOf(i + 1).pen]));
    this.curves.forEach((curve, i) => {
      const { pen, dash } = strokeOf(i + 1);
      c.strokeStyle = k.pen[pen];
      c.lineWidth = 2;
      c.setLineDash(dashes[dash] as number[]);
      drawCurve(c, f, r, curve[p]);
    });
    c.setLineDash([]);
    const ends = this.curves.flatMap((curve, i) => {
      const n = curve[p].t.findLastIndex((t) => t <= f.span.to);
      return n < 0 ? [] : [{ text: String(i + 1), x: Math.min(xOf(f, curve[p].t[n]), f.right) - 4, y: yOf(r, curve[p].v[n]) - 8, ink: k.penText[strokeOf(i + 1).pen] }];
    });
    labels(c, r, ends, k);
  }

  /** Writes the values at the cursor into the margin. */
  private read() {
    this.time.textContent = `${plain(this.at * 1e3, 2)} ms`;
    const spoken = [`${plain(this.at * 1e3, 2)} ms after first motion`];
    for (const p of parts) {
      const unit = printed(unitOf(this.units, quantity[p]));
      const factor = factorOf(this.units, quantity[p]);
      const lines = this.curves.map((curve, i) => {
        const n = valueAt(curve[p], this.at, factor);
        if (n) spoken.push(`launch ${i + 1}: ${names[p].toLowerCase()} ${n.value} ± ${n.half} ${unit}`);
        return el("p", { class: n ? "value" : "value none" }, el("span", { class: `lane pen${strokeOf(i + 1).pen + 1}` }, String(i + 1)), n ? el("span", { class: "best" }, n.value) : "not filmed", n && el("span", { class: "half" }, ` ± ${n.half}`));
      });
      this.values[p].replaceChildren(el("p", { class: "name" }, names[p], " ", el("span", { class: "faint" }, unit)), ...lines);
    }
    this.canvas.setAttribute("aria-valuemin", (this.whole.from * 1e3).toFixed(1));
    this.canvas.setAttribute("aria-valuemax", (this.whole.to * 1e3).toFixed(1));
    this.canvas.setAttribute("aria-valuenow", (this.at * 1e3).toFixed(2));
    this.canvas.setAttribute("aria-valuetext", spoken.join(", "));
  }

  private show(s: Span) {
    this.span = { ...s };
    this.draw();
  }

  private point(t: number) {
    this.at = Math.min(this.whole.to, Math.max(this.whole.from, t));
    this.read();
    this.draw();
  }

  private zoom(by: number, about: number) {
    this.show(zoomed(this.span, about, by, this.whole, (this.whole.to - this.whole.from) / 200));
  }

  private listen() {
    const { canvas } = this;
    canvas.addEventListener("wheel", (e) => {
      if (document.activeElement !== canvas && !e.ctrlKey) return;
      e.preventDefault();
      this.zoom(Math.exp(-e.deltaY / 300), tOf(this.frame, e.offsetX));
    }, { passive: false });
    canvas.addEventListener("pointerdown", (e) => {
      canvas.setPointerCapture(e.pointerId);
      this.pressed = { x: e.offsetX, moved: false };
    });
    canvas.addEventListener("pointermove", (e) => {
      const p = this.pressed;
      if (!p || (!p.moved && Math.abs(e.offsetX - p.x) < 4)) return;
      this.show(moved(this.span, tOf(this.frame, p.x) - tOf(this.frame, e.offsetX), this.whole));
      this.pressed = { x: e.offsetX, moved: true };
    });
    canvas.addEventListener("pointerup", (e) => {
      if (this.pressed && !this.pressed.moved) this.point(tOf(this.frame, e.offsetX));
      this.pressed = null;
    });
    canvas.addEventListener("pointercancel", () => (this.pressed = null));
    canvas.addEventListener("keydown", (e) => this.key(e));
  }

  private key(e: KeyboardEvent) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = ((this.span.to - this.span.from) / 200) * (e.shiftKey ? 10 : 1);
    const deeds: Record<string, () => void> = {
      ArrowRight: () => this.point(this.at + step),
      ArrowUp: () => this.point(this.at + step),
      ArrowLeft: () => this.point(this.at - step),
      ArrowDown: () => this.point(this.at - step),
      Home: () => this.point(0),
      End: () => this.point(this.whole.to),
      "+": () => this.zoom(1.5, this.at),
      "=": () => this.zoom(1.5, this.at),
      "-": () => this.zoom(1 / 1.5, this.at),
      "0": () => this.show(this.whole),
    };
    if (!deeds[e.key]) return;
    e.preventDefault();
    deeds[e.key]();
  }
}

/** A curve's value at a time between its points, straight between them; null beyond its ends. */
function valueAt(curve: Curve, t: number, factor: number) {
  const last = curve.t.length - 1;
  if (last < 1 || t < curve.t[0] || t > curve.t[last]) return null;
  const near = nearest(curve.t, t);
  const i = Math.min(last - 1, curve.t[near] > t ? near - 1 : near);
  const s = (t - curve.t[i]) / (curve.t[i + 1] - curve.t[i]);
  const mix = (list: number[]) => (list[i] + s * (list[i + 1] - list[i])) * factor;
  return withInterval(mix(curve.v), mix(curve.half));
}
