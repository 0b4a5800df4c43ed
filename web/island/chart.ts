// The sheet: filmstrip, streak, speed and acceleration stacked on one time axis, drawn on one canvas.

import { launchPath } from "../client/desk";
import { Frames } from "./frames";
import { dashes, inks } from "./inks";
import { drawCursor, drawFirstMotion, drawGates, drawHandle, drawSpeeds } from "./lines";
import type { Model } from "./model";
import { coverage, factorOf } from "./reading";
import { Curve, drawBand, drawCurve, Frame, inside, labels, paper, Row, tOf, xOf, yOf } from "./row";
import { heights, leastHeight, rangeOf } from "./scales";
import { rulings } from "./span";
import { drawPicture, drawTrace, printed, traceCurve } from "./streak";
import { drawStrip } from "./strip";
import type { Lane } from "./view";

/** Heights of the rows, px: on a wide page, and on a narrow one. */
const tall = { strip: 96, streak: 372, speed: 128, acceleration: 128, axis: 26, gap: 12 };
const short = { strip: 68, streak: 240, speed: 104, acceleration: 104, axis: 26, gap: 10 };

interface Curves {
  trace: Curve;
  speed: Curve;
  acceleration: Curve;
}

export class Chart {
  readonly canvas = document.createElement("canvas");
  readonly frames: Frames;
  rows!: Record<"strip" | "streak" | "speed" | "acceleration", Row>;
  frame!: Frame;
  private c = this.canvas.getContext("2d")!;
  private curves = new Map<Lane, Curves>();
  private picture: ImageBitmap | null = null;
  private print: HTMLCanvasElement | null = null;
  private pictureOf = "";
  private due = false;
  private width = 0;
  private height = 0;

  constructor(private m: Model) {
    this.frames = new Frames(m.view.name, m.view.footage?.sha256.slice(0, 12) ?? "", 400, () => this.draw());
    new ResizeObserver(() => this.fit()).observe(this.canvas);
    document.addEventListener("themechange", () => {
      this.print = null;
      this.draw();
    });
    void document.fonts.ready.then(() => this.draw());
  }

  /** Takes up a new view of the launch. */
  renew() {
    this.curves.clear();
    for (const lane of this.m.view.lanes) {
      const of = (q: "speed" | "acceleration"): Curve => ({
        t: lane.history.map((h) => h.t),
        v: lane.history.map((h) => h[q]),
        half: lane.history.map((h) => coverage * h[`u_${q}`]),
      });
      this.curves.set(lane, { trace: traceCurve(lane), speed: of("speed"), acceleration: of("acceleration") });
    }
    this.pictureOf = "";
    this.fit();
  }

  /** Gives the canvas its size and the rows their places. */
  private fit() {
    const box = this.canvas.getBoundingClientRect();
    this.width = box.width;
    const h = this.width < 560 ? short : tall;
    this.height = h.strip + h.streak + h.speed + h.acceleration + h.axis + 3 * h.gap;
    this.canvas.style.height = `${this.height}px`;
    const parent = this.canvas.parentElement;
    for (const [name, px] of Object.entries(h)) parent?.style.setProperty(`--${name}`, `${px}px`);
    this.canvas.width = Math.round(this.width * devicePixelRatio);
    this.canvas.height = Math.round(this.height * devicePixelRatio);
    let top = 0;
    const row = (height: number): Row => {
      const r = { top, height, low: 0, high: 1 };
      top += height + h.gap;
      return r;
    };
    this.rows = {
      strip: row(h.strip),
      streak: row(h.streak),
      speed: row(h.speed),
      acceleration: row(h.acceleration),
    };
    this.draw();
  }

  /** Fits the scales to all there is, or to what is shown. */
  private scale() {
    const { m, rows } = this;
    const shown = m.place.fit && m.place.span;
    const all = [...this.curves.values()];
    const set = (r: Row, [low, high]: [number, number]) => ([r.low, r.high] = [low, high]);
    set(rows.streak, shown ? rangeOf(all.map((k) => k.trace), shown, leastHeight) : heights(m.view.lanes));
    for (const q of ["speed", "acceleration"] as const) set(rows[q], rangeOf(all.map((k) => k[q]), shown || m.whole, 0));
  }

  /** Draws at the next picture of the screen. */
  draw() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      if (this.width > 0 && this.m.ready) this.paint();
    });
  }

  private paint() {
    const { c, m, rows } = this;
    const k = inks();
    this.frame = { left: 48, right: this.width - 8, span: m.span };
    const f = this.frame;
    this.scale();
    c.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    c.clearRect(0, 0, this.width, this.height);
    const time = this.timeRulings(f);
    const u = m.units;
    paper(c, f, rows.streak, k, time, factorOf(u, "length"));
    paper(c, f, rows.speed, k, time, factorOf(u, "speed"));
    paper(c, f, rows.acceleration, k, time, factorOf(u, "acceleration"));
    this.axis(f, time.strong, time.places);
    const wanted = drawStrip(c, f, rows.strip, m, this.frames, k);
    this.frames.want(wanted);
    this.canvas.ariaBusy = String(wanted.some((p) => !this.frames.get(p) && !this.frames.missing(p))); // pictures of the strip are on their way
    inside(c, f, rows.streak, () => {
      this.streakPicture(f);
      drawGates(c, f, rows.streak, m, u, k);
    });
    const [top, bottom] = [rows.streak.top, rows.acceleration.top + rows.acceleration.height];
    drawFirstMotion(c, f, top, bottom, m, k);
    inside(c, f, rows.streak, () => {
      for (const lane of this.inOrder()) drawTrace(c, f, rows.streak, m, lane, this.curves.get(lane)!.trace, k);
    });
    for (const q of ["speed", "acceleration"] as const) {
      inside(c, f, rows[q], () => {
        if (q === "speed") drawSpeeds(c, f, rows.speed, m, k);
        for (const lane of this.inOrder()) this.curve(f, rows[q], lane, q);
        if (m.view.lanes.length > 1) this.names(f, rows[q], q);
      });
    }
    drawCursor(c, f, rows.strip.top + rows.strip.height - 8, bottom, m, k);
    inside(c, f, rows.streak, () => drawHandle(c, f, rows.streak, m, k));
    const ring = this.handle();
    this.canvas.dataset.ringX = ring ? ring.x.toFixed(1) : "";
    this.canvas.dataset.ringY = ring ? ring.y.toFixed(1) : "";
  }

  /** The lane at hand is drawn last, over the others. */
  private inOrder(): Lane[] {
    return [...this.m.view.lanes].sort((a, b) => Number(a === this.m.lane) - Number(b === this.m.lane));
  }

  private curve(f: Frame, r: Row, lane: Lane, q: "speed" | "acceleration") {
    const { c } = this;
    const k = inks();
    const pen = (lane.lane - 1) % dashes.length;
    const curve = this.curves.get(lane)![q];
    if (curve.t.length === 0) return;
    drawBand(c, f, r, curve, k.band[pen]);
    c.strokeStyle = k.pen[pen];
    c.lineWidth = lane === this.m.lane ? 2 : 1.25;
    c.setLineDash(dashes[pen] as number[]);
    drawCurve(c, f, r, curve);
    c.setLineDash([]);
  }

  /** Names the lanes at the right ends of their curves. */
  private names(f: Frame, r: Row, q: "speed" | "acceleration") {
    const k = inks();
    const list = this.m.view.lanes.flatMap((lane) => {
      const { t, v } = this.curves.get(lane)![q];
      const n = t.findLastIndex((one) => one <= f.span.to);
      return n < 0 ? [] : [{ text: lane.name, x: Math.min(xOf(f, t[n]), f.right) - 6, y: yOf(r, v[n]) - 12, ink: k.penText[(lane.lane - 1) % dashes.length] }];
    });
    labels(this.c, r, list, k);
  }

  private timeRulings(f: Frame) {
    const { zero } = this.m;
    const [a, b] = [(f.span.from - zero) * 1e3, (f.span.to - zero) * 1e3];
    const strong = rulings(a, b, (f.right - f.left) / 95);
    const fine = rulings(a, b, (f.right - f.left) / 19);
    const back = (list: number[]) => list.map((t) => t / 1e3 + zero);
    return { strong: back(strong.at), fine: back(fine.at), places: strong.places };
  }

  private axis(f: Frame, strong: number[], places: number) {
    const { c, m } = this;
    const k = inks();
    const y = this.rows.acceleration.top + this.rows.acceleration.height + 6;
    c.font = `13px ${k.figures}`;
    c.textAlign = "center";
    c.textBaseline = "top";
    c.fillStyle = k.faint;
    for (const t of strong) {
      const x = xOf(f, t);
      if (x < f.left + 4 || x > f.right - 10) continue;
      c.fillText(((t - m.zero) * 1e3).toFixed(places).replace("-", "−").replace(/^−(0(\.0+)?)$/, "$1"), x, y);
    }
  }

  private streakPicture(f: Frame) {
    const { m } = this;
    const { lane } = m;
    if (!lane.streak) return;
    const of = `${lane.lane} ${m.view.revision}`;
    if (this.pictureOf !== of) {
      if (!this.pictureOf.startsWith(`${lane.lane} `)) this.picture = this.print = null; // another lane's
      this.pictureOf = of;
      void this.fetchPicture(of);
    }
    if (!this.picture) return;
    this.print ??= printed(this.picture, inks());
    if (this.print.width === lane.streak.frames.length) drawPicture(this.c, f, this.rows.streak, lane.streak, this.print);
  }

  private async fetchPicture(of: string) {
    try {
      const response = await fetch(`${launchPath(this.m.view.name)}/pictures/streak?lane=${this.m.place.lane}`);
      if (!response.ok) return;
      const bitmap = await createImageBitmap(await response.blob());
      if (this.pictureOf !== of) return;
      this.picture = bitmap;
      this.print = null;
      this.draw();
    } catch {
      this.pictureOf = ""; // the desk is away: tried again at the next drawing
    }
  }

  /** The frame whose time is nearest to a place on the canvas. */
  timeAt = (x: number) => tOf(this.frame, x);

  /** Where the handle of the place in the cursor's frame is. */
  handle(): { x: number; y: number } | null {
    const at = this.m.where(this.m.frame);
    if (at.height === null) return null;
    return { x: xOf(this.frame, this.m.point(this.m.frame)?.t ?? this.m.view.times[this.m.frame]), y: yOf(this.rows.streak, at.height) };
  }
}

