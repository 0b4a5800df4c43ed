// The loupe: the chosen mark in the middle, its surroundings enlarged pixel by pixel.

import { launchPath } from "../client/desk";
import { el, svg } from "../client/draw";
import { say } from "../client/shell";
import { edgeNear, Patch } from "./setupedge";
import type { Sheet } from "./setupsheet";

const side = 96; // px of the frame that are fetched around the mark
const slack = 24; // how far the mark may go from their middle before others are fetched
const powers = [4, 8, 16];

export class Loupe {
  readonly box: HTMLElement;
  private canvas = el("canvas", { "aria-hidden": "true" });
  private words = el("p", { class: "where" });
  private glass: HTMLElement;
  private snapButton: HTMLButtonElement;
  private power = 8;
  private patch: (Patch & { picture: ImageBitmap; of: string }) | null = null;
  private asked = "";
  private coming: Promise<void> = Promise.resolve(); // the picture asked for last

  constructor(private sheet: Sheet) {
    const cross = svg("svg", { viewBox: "-50 -50 100 100", "aria-hidden": "true" });
    for (const [x, y] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) cross.append(svg("line", { class: "under", x1: 7 * x, y1: 7 * y, x2: 50 * x, y2: 50 * y }), svg("line", { class: "hair", x1: 7 * x, y1: 7 * y, x2: 50 * x, y2: 50 * y }));
    this.glass = el("div", { class: "glass", tabindex: "0", role: "application", "aria-roledescription": "loupe", "aria-label": "Loupe on the chosen mark. Arrow keys move it by 0.1 px, with Shift by 1 px; E snaps it to the edge of a band; Page up and down choose another mark; Delete removes it." }, this.canvas, cross);
    this.snapButton = el("button", { type: "button", class: "quiet", click: () => void this.snap() }, "Snap to edge");
    const zoom = el("button", { type: "button", class: "quiet", click: () => this.zoom() }, "Enlarge");
    const add = el("button", { type: "button", class: "quiet", click: () => this.add() }, "Add a mark");
    this.box = el("div", { class: "loupe" }, this.glass, this.words, el("p", { class: "deeds" }, add, this.snapButton, zoom));
    this.glass.addEventListener("keydown", (e) => this.key(e));
    this.drag();
    sheet.onChange(() => this.show());
    document.addEventListener("themechange", () => this.draw());
  }

  focus() {
    this.glass.focus();
  }

  private get spot() {
    return this.sheet.spots[this.sheet.chosen];
  }

  private zoom() {
    this.power = powers[(powers.indexOf(this.power) + 1) % powers.length];
    this.show();
  }

  /** Adds a mark where the next one is likely, so that no pointer is needed. */
  private add() {
    const s = this.sheet.spots;
    const { frame_width: w, frame_height: h } = this.sheet.setup;
    const [a, b] = [s.at(-2), s.at(-1)];
    const x = a && b ? 2 * b.x - a.x : b ? b.x : w / 2;
    const y = a && b ? 2 * b.y - a.y : b ? b.y - h / 8 : h * 0.8;
    this.sheet.add(Math.min(w - 1, Math.max(0, x)), Math.min(h - 1, Math.max(0, y)));
    this.focus();
  }

  private key(e: KeyboardEvent) {
    const s = this.spot;
    if (!s || e.ctrlKey || e.metaKey || e.altKey) return;
    const d = e.shiftKey ? 1 : 0.1;
    const moves: Record<string, [number, number]> = { ArrowLeft: [-d, 0], ArrowRight: [d, 0], ArrowUp: [0, -d], ArrowDown: [0, d] };
    const m = moves[e.key];
    const n = this.sheet.spots.length;
    if (m) this.sheet.move(this.sheet.chosen, s.x + m[0], s.y + m[1]);
    else if (e.key === "PageDown") this.sheet.choose((this.sheet.chosen + 1) % n);
    else if (e.key === "PageUp") this.sheet.choose((this.sheet.chosen + n - 1) % n);
    else if (e.key === "Delete") this.sheet.remove(this.sheet.chosen);
    else if (e.key.toLowerCase() === "e") void this.snap();
    else if (e.key === "+" || e.key === "-") this.zoom();
    else return;
    e.preventDefault();
  }

  /** Drags the picture under the cross. */
  private drag() {
    let from: { x: number; y: number } | null = null;
    this.glass.addEventListener("pointerdown", (e) => {
      from = { x: e.clientX, y: e.clientY };
      this.glass.setPointerCapture(e.pointerId);
    });
    this.glass.addEventListener("pointermove", (e) => {
      const s = this.spot;
      if (!from || !s) return;
      const px = this.glass.clientWidth / this.across();
      this.sheet.move(this.sheet.chosen, s.x - (e.clientX - from.x) / px, s.y - (e.clientY - from.y) / px);
      from = { x: e.clientX, y: e.clientY };
    });
    const end = () => (from = null);
    this.glass.addEventListener("pointerup", end);
    this.glass.addEventListener("pointercancel", end);
  }

  /** How many px of the frame the glass shows from edge to edge. */
  private across() {
    return 320 / this.power;
  }

  private show() {
    const s = this.spot;
    this.box.classList.toggle("empty", !s);
    this.snapButton.disabled = !s;
    if (!s) {
      this.words.textContent = "No mark is chosen.";
      this.draw();
      return;
    }
    this.words.textContent = `Mark ${this.sheet.chosen + 1} at ${s.x.toFixed(1)}, ${s.y.toFixed(1)} px`;
    const p = this.patch;
    if (p && p.of === this.key0() && Math.abs(s.x - p.x0 - side / 2) < slack && Math.abs(s.y - p.y0 - side / 2) < slack) {
      this.draw();
      return;
    }
    this.fetch(Math.round(s.x) - side / 2, Math.round(s.y) - side / 2);
  }

  private key0() {
    return String(this.sheet.frame);
  }

  private fetch(x0: number, y0: number) {
    const of = this.key0();
    const path = `${launchPath(this.sheet.name)}/frames/${of}?crop=${x0},${y0},${side},${side}`;
    if (this.asked === path) return;
    this.asked = path;
    this.glass.ariaBusy = "true";
    this.coming = this.load(path, of, x0, y0)
      .catch(() => {
        if (this.asked === path) this.asked = "";
      })
      .then(() => {
        if (!this.asked) this.glass.ariaBusy = "false";
      });
  }

  private async load(path: string, of: string, x0: number, y0: number) {
    const response = await fetch(path);
    if (!response.ok) throw new Error("no frame");
    const picture = await createImageBitmap(await response.blob());
    if (this.asked !== path) return; // another place was asked for since
    this.asked = "";
    const c = new OffscreenCanvas(side, side).getContext("2d", { willReadFrequently: true })!;
    c.drawImage(picture, 0, 0);
    const rgba = c.getImageData(0, 0, side, side).data;
    const grey = new Float32Array(side * side);
    // ITU-R BT.601 luma, as the desk reads frames.
    for (let i = 0; i < grey.length; i++) grey[i] = 0.299 * rgba[4 * i] + 0.587 * rgba[4 * i + 1] + 0.114 * rgba[4 * i + 2];
    this.patch = { grey, width: side, height: side, x0, y0, picture, of };
    this.draw();
  }

  private draw() {
    const c = this.canvas.getContext("2d")!;
    const size = Math.round(this.glass.clientWidth * devicePixelRatio) || 320;
    if (this.canvas.width !== size) this.canvas.width = this.canvas.height = size;
    c.clearRect(0, 0, size, size);
    const [s, p] = [this.spot, this.patch];
    if (!s || !p) return;
    const z = size / this.across();
    c.imageSmoothingEnabled = false;
    // The centre of pixel x0 is half a px inside the picture's left edge.
    c.drawImage(p.picture, size / 2 - (s.x - p.x0 + 0.5) * z, size / 2 - (s.y - p.y0 + 0.5) * z, side * z, side * z);
  }

  /** Puts the mark on the steepest edge near it, along the reference; where its picture is still on its way, once that is there. */
  private async snap() {
    const s = this.spot;
    await this.coming;
    const p = this.patch;
    if (!s || !p || s !== this.spot) return;
    const { spots, kind } = this.sheet;
    let [ux, uy] = [0, -1];
    const [a, b] = [spots[0], spots[spots.length - 1]];
    const far = Math.hypot(b.x - a.x, b.y - a.y);
    if (kind !== "plane" && far > 10) [ux, uy] = [(b.x - a.x) / far, (b.y - a.y) / far];
    const found = edgeNear(p, s.x, s.y, ux, uy);
    if (!found) {
      say("There is no edge within 6 px of this mark.");
      return;
    }
    this.sheet.move(this.sheet.chosen, found.x, found.y);
  }
}
