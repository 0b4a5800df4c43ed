// Saying what to follow: a box drawn on a frame about the part of the vehicle that is to be traced.

import { api, launchPath } from "../client/desk";
import { el } from "../client/draw";
import { show } from "../client/shell";
import type { Edits } from "./edits";
import { inks } from "./inks";
import type { Model } from "./model";

type Box = [number, number, number, number];

/** The drawn frame is at most so wide and high, px of the screen. */
const most = { width: 640, height: 560 };

export class Follow {
  readonly box = el("details", { class: "follow" }, el("summary", {}, "What is followed"));
  private canvas = el("canvas", { "aria-hidden": "true" });
  private frame = el("input", { type: "number", min: 0, step: 1, id: "follow-frame" });
  private sides = ["left", "top", "width", "height"].map((side) => el("input", { type: "number", min: 0, step: 1, id: `follow-${side}` }));
  private lanes = el("input", { type: "number", min: 1, max: 5, step: 1, id: "follow-lanes" });
  private size = { width: 0, height: 0, frames: 0 };
  private picture: ImageBitmap | null = null;
  private began: { x: number; y: number } | null = null;
  private built = false;

  constructor(
    private m: Model,
    private edits: Edits,
  ) {
    this.box.addEventListener("toggle", () => this.box.open && void this.build().catch(show));
    document.addEventListener("themechange", () => this.draw());
  }

  show() {
    this.box.open = true;
    this.box.scrollIntoView({ block: "start" });
  }

  renew() {
    if (this.built) this.fill();
  }

  private async build() {
    if (this.built) return;
    this.built = true;
    const { footage, name } = this.m.view;
    if (footage) this.size = footage;
    else {
      const s = await api("GET", `${launchPath(name)}/setup`); // before the first measuring nothing else knows the frame
      this.size = { width: s.frame_width, height: s.frame_height, frames: s.frames };
    }
    this.frame.max = String(this.size.frames - 1);
    this.listen();
    this.box.append(
      el("p", {}, "The part of the vehicle that is followed is found by itself. Where that goes wrong, draw a box on a frame about a part that stands out and stays out of exhaust and water: best the nose."),
      el("div", { class: "drawing" }, this.canvas, this.form()),
    );
    this.fill();
  }

  private form(): HTMLElement {
    const field = (input: HTMLElement, label: string) => el("p", {}, el("label", { for: input.id }, label), input);
    const labels = ["Left edge of the box, px", "Upper edge, px", "Width, px", "Height, px"];
    const form = el(
      "form",
      {},
      field(this.frame, "Frame"),
      ...this.sides.map((s, i) => field(s, labels[i])),
      field(this.lanes, "Vehicles in view"),
      el("p", { class: "deeds" }, el("button", { type: "submit" }, "Follow what is in the box"), el("button", { type: "button", class: "quiet", click: () => this.send(null) }, "Let it be found by itself")),
    );
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      const b = this.value();
      if (b) this.send(b);
    });
    return form;
  }

  private listen() {
    const at = (e: PointerEvent) => ({ x: e.offsetX / this.scale, y: e.offsetY / this.scale });
    this.canvas.addEventListener("pointerdown", (e) => {
      this.canvas.setPointerCapture(e.pointerId);
      this.began = at(e);
    });
    this.canvas.addEventListener("pointermove", (e) => {
      if (!this.began) return;
      const [a, b] = [this.began, at(e)];
      this.put([Math.min(a.x, b.x), Math.min(a.y, b.y), Math.abs(a.x - b.x), Math.abs(a.y - b.y)]);
    });
    for (const end of ["pointerup", "pointercancel"]) this.canvas.addEventListener(end, () => (this.began = null));
    for (const s of this.sides) s.addEventListener("input", () => this.draw());
    this.frame.addEventListener("change", () => void this.fetch());
  }

  private get scale(): number {
    return this.canvas.getBoundingClientRect().width / this.size.width || 1;
  }

  /** Shows what the launch file says. */
  private fill() {
    const { follow } = this.m.view;
    this.frame.value = String(follow.box ? follow.frame : 0);
    this.lanes.value = String(Math.max(1, follow.lanes));
    if (follow.box) this.put(follow.box);
    else for (const s of this.sides) s.value = "";
    void this.fetch();
  }

  private put(b: Box) {
    b.forEach((v, i) => (this.sides[i].value = String(Math.max(0, Math.round(v)))));
    this.draw();
  }

  private value(): Box | null {
    const b = this.sides.map((s) => Number(s.value)) as Box;
    return b.every(Number.isFinite) && b[2] > 0 && b[3] > 0 ? b : null;
  }

  private async fetch() {
    const { width, height } = this.size;
    const scale = Math.min(most.width / width, most.height / height, 1);
    this.canvas.width = Math.round(width * scale);
    this.canvas.height = Math.round(height * scale);
    try {
      const response = await fetch(`${launchPath(this.m.view.name)}/frames/${Math.max(0, Number(this.frame.value))}?width=${this.canvas.width}`);
      this.picture = response.ok ? await createImageBitmap(await response.blob()) : null;
    } catch {
      this.picture = null;
    }
    this.draw();
  }

  private draw() {
    const c = this.canvas.getContext("2d")!;
    const k = inks();
    c.clearRect(0, 0, this.canvas.width, this.canvas.height);
    if (this.picture) c.drawImage(this.picture, 0, 0, this.canvas.width, this.canvas.height);
    const b = this.value();
    if (!b) return;
    const s = this.canvas.width / this.size.width;
    for (const [ink, width] of [[k.paper, 4], [k.pen[0], 2]] as const) {
      c.strokeStyle = ink;
      c.lineWidth = width;
      c.strokeRect(b[0] * s, b[1] * s, b[2] * s, b[3] * s);
    }
  }

  private send(b: Box | null) {
    const lanes = Math.max(1, Math.round(Number(this.lanes.value) || 1));
    const values = { frame: b ? Number(this.frame.value) : null, box: b, lanes: lanes > 1 ? lanes : null };
    void this.edits.send({ do: "follow", values }).then((sent) => {
      if (sent && this.m.view.state !== "measuring" && this.m.view.state !== "measured") void this.edits.measure();
    });
  }
}
