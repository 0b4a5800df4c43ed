// The loupe: a frame as it was filmed, enlarged without smoothing about the place of the vehicle, and that place to be moved.

import { magnifications } from "./address";
import { dashes, inks } from "./inks";
import { Frames } from "./frames";
import type { Model } from "./model";
import { coverage } from "./reading";

/** Steps of a nudge, px. */
const nudge = 0.1;
/** Frames on each side of the cursor whose cut-outs are fetched beforehand. */
const ahead = 6;
/** Cut-outs begin at multiples of this, px, so that a place moved a little finds the one it has. */
const grid = 16;

export class Loupe {
  readonly canvas = document.createElement("canvas");
  private c = this.canvas.getContext("2d")!;
  private frames: Frames;
  private due = false;
  private size = 0;
  private centre = { frame: -1, lane: 0, x: 0, y: 0 }; // what stands in the middle; it stays while a place is moved
  private dragged: { x: number; y: number; dx: number; dy: number } | null = null;

  constructor(
    private m: Model,
    private letGo: () => void,
  ) {
    this.frames = new Frames(m.view.name, m.view.footage?.sha256.slice(0, 12) ?? "", 60, () => this.draw());
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (e) => this.down(e));
    canvas.addEventListener("pointermove", (e) => this.move(e));
    canvas.addEventListener("pointerup", () => this.up(true));
    canvas.addEventListener("pointercancel", () => this.up(false));
    canvas.addEventListener("keydown", (e) => this.key(e));
    canvas.addEventListener("wheel", (e) => this.wheel(e), { passive: false });
    new ResizeObserver(() => this.fit()).observe(canvas);
    document.addEventListener("themechange", () => this.draw());
  }

  private fit() {
    this.size = this.canvas.getBoundingClientRect().width;
    this.canvas.width = this.canvas.height = Math.round(this.size * devicePixelRatio);
    this.draw();
  }

  /** Puts the place back in the middle. */
  recentre() {
    this.centre.frame = -1;
    this.draw();
  }

  magnify(by: number) {
    const k = magnifications.indexOf(this.m.place.magnified) + by;
    this.m.place.magnified = magnifications[Math.min(magnifications.length - 1, Math.max(0, k))];
    this.m.placed();
  }

  draw() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      if (this.size > 0 && this.m.ready) this.paint();
    });
  }

  private cut(frame: number, x: number, y: number) {
    const side = Math.ceil(this.size / this.m.place.magnified / grid) * grid + 2 * grid;
    const left = Math.round((x - side / 2) / grid) * grid;
    const top = Math.round((y - side / 2) / grid) * grid;
    return { left, top, side, path: this.frames.crop(frame, left, top, side, side) };
  }

  private paint() {
    const { c, m, size } = this;
    const at = m.where(m.frame);
    if (this.centre.frame !== m.frame || this.centre.lane !== m.place.lane) this.centre = { frame: m.frame, lane: m.place.lane, x: at.x, y: at.y };
    const { x, y } = this.centre;
    const cut = this.cut(m.frame, x, y);
    this.frames.want([cut.path, ...this.beside()]);
    const k = inks();
    c.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    c.clearRect(0, 0, size, size);
    const bitmap = this.frames.get(cut.path);
    if (bitmap) {
      c.imageSmoothingEnabled = false;
      const [left, top] = [this.screen(cut.left - 0.5, x), this.screen(cut.top - 0.5, y)];
      c.drawImage(bitmap, left, top, cut.side * m.place.magnified, cut.side * m.place.magnified);
    } else {
      c.fillStyle = k.faint;
      c.font = `13px ${k.figures}`;
      c.textAlign = "center";
      c.fillText(this.frames.missing(cut.path) ? "this frame cannot be shown" : "…", size / 2, size / 2);
    }
    this.otherLanes();
    this.place(this.screen(at.x, x), this.screen(at.y, y), at.known);
  }

  private screen = (v: number, centre: number) => this.size / 2 + (v - centre) * this.m.place.magnified;

  private beside(): string[] {
    const { m } = this;
    const out: string[] = [];
    for (let d = 1; d <= ahead; d++)
      for (const i of [m.frame + d, m.frame - d]) {
        if (i < m.view.from || i > m.view.to) continue;
        const p = m.point(i);
        if (p) out.push(this.cut(i, p.x, p.y).path);
      }
    return out;
  }

  /** Hair lines that leave the place itself free, and the 95 % stretch along the flight line about it. */
  private place(x: number, y: number, known: boolean) {
    const { c, m, size } = this;
    const k = inks();
    const gap = 9;
    for (const [ink, width] of [[k.paper, 3.5], [k.cursor, 1.25]] as const) {
      c.strokeStyle = ink;
      c.lineWidth = width;
      c.setLineDash(known || ink === k.paper ? [] : [4, 3]);
      c.beginPath();
      for (const s of [-1, 1]) {
        c.moveTo(x + s * gap, y);
        c.lineTo(x + s * size, y);
        c.moveTo(x, y + s * gap);
        c.lineTo(x, y + s * size);
      }
      c.stroke();
    }
    c.setLineDash([]);
    const p = m.point(m.frame);
    if (!p || !known) return;
    this.horizon(x, y, Math.max(1.2, coverage * p.u * m.place.magnified));
  }

  /** The uncertainty along the flight line as the long axis; across it is not measured, it is drawn half as wide. */
  private horizon(x: number, y: number, along: number) {
    const { c, m } = this;
    const k = inks();
    const pen = (m.place.lane - 1) % dashes.length;
    const { ux, uy } = m.lane.line;
    for (const [ink, width] of [[k.paper, 4], [k.pen[pen], 2]] as const) {
      c.strokeStyle = ink;
      c.lineWidth = width;
      c.beginPath();
      c.ellipse(x, y, along, Math.max(1.2, along / 2), Math.atan2(uy, ux), 0, 2 * Math.PI);
      c.stroke();
    }
  }

  private otherLanes() {
    const { c, m } = this;
    const k = inks();
    for (const lane of m.view.lanes) {
      const p = lane === m.lane ? undefined : m.point(m.frame, lane);
      if (!p) continue;
      c.strokeStyle = k.pen[(lane.lane - 1) % dashes.length];
      c.setLineDash(dashes[(lane.lane - 1) % dashes.length] as number[]);
      c.lineWidth = 2;
      c.strokeRect(this.screen(p.x, this.centre.x) - 8, this.screen(p.y, this.centre.y) - 8, 16, 16);
      c.setLineDash([]);
    }
  }

  private down(e: PointerEvent) {
    if (e.button !== 0) return;
    this.canvas.setPointerCapture(e.pointerId);
    const at = this.m.where(this.m.frame);
    this.dragged = { x: e.offsetX, y: e.offsetY, dx: at.x, dy: at.y };
  }

  private move(e: PointerEvent) {
    const d = this.dragged;
    if (!d) return;
    const by = 1 / this.m.place.magnified;
    this.m.hold(this.m.frame, d.dx + (e.offsetX - d.x) * by, d.dy + (e.offsetY - d.y) * by);
  }

  private up(whole: boolean) {
    const moved = this.dragged && this.m.held;
    this.dragged = null;
    if (!moved) return;
    if (whole) this.letGo();
    else {
      this.m.held = null;
      this.m.tell("held");
    }
  }

  private wheel(e: WheelEvent) {
    if (document.activeElement !== this.canvas && !e.ctrlKey) return;
    e.preventDefault();
    this.magnify(e.deltaY < 0 ? 1 : -1);
  }

  private key(e: KeyboardEvent) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = e.shiftKey ? 1 : nudge;
    const by: Record<string, [number, number]> = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    const move = by[e.key];
    const { m } = this;
    if (move) {
      const at = m.where(m.frame);
      m.hold(m.frame, at.x + move[0], at.y + move[1]);
      this.letGo();
    } else if (e.key === "+" || e.key === "=") this.magnify(1);
    else if (e.key === "-") this.magnify(-1);
    else if (e.key === "PageUp") m.frame += 1;
    else if (e.key === "PageDown") m.frame -= 1;
    else return;
    e.preventDefault();
  }
}
