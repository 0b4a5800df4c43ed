// What the launch page is about at the moment: the launch as the desk has it, and what the reader looks at.

import { keepPlace, Place } from "./address";
import { settled, Units } from "./reading";
import { holding, moved, Span } from "./span";
import { Lane, measured, Motion, nearest, Point, View } from "./view";

/** A place being moved by hand, not yet saved. */
interface Held {
  lane: number;
  frame: number;
  x: number;
  y: number;
  height: number | null; // null where the trace cannot tell
}

/** What changed: the launch, what is looked at, the place held, the work on the launch. */
type Part = "view" | "place" | "held" | "job";

/** Below this likeness to the vehicle at rest (normalised correlation) a frame is shown as doubtful. A choice, no source. */
export const doubtful = 0.8;

export class Model {
  view!: View;
  held: Held | null = null;
  /** Called before the cursor leaves a frame or a lane: what is held there is to be saved. */
  leaving: () => void = () => {};
  private listeners: ((part: Part) => void)[] = [];

  constructor(readonly place: Place) {}

  onChange(f: (part: Part) => void) {
    this.listeners.push(f);
  }

  tell(part: Part) {
    for (const f of this.listeners) f(part);
  }

  take(v: View) {
    this.view = v;
    this.held = null;
    if (!v.lanes.some((l) => l.lane === this.place.lane)) this.place.lane = v.lanes[0]?.lane ?? 1;
    this.tell("view");
  }

  get ready(): boolean {
    return this.view.lanes.length > 0 && this.view.times.length > 0;
  }

  /** The units everything is shown in. */
  get units(): Units {
    return settled(this.place.units, this.view.questions.speeds, this.view.questions.gates);
  }

  /** Goes to another lane. */
  choose(lane: number) {
    this.leaving();
    this.place.lane = lane;
    this.tell("view");
    this.placed();
  }

  get lane(): Lane {
    return this.view.lanes.find((l) => l.lane === this.place.lane) ?? this.view.lanes[0];
  }

  /** All the time there is to show: the frames used, and a little beside them. */
  get whole(): Span {
    const { times, from, to } = this.view;
    const [a, b] = [times[Math.max(0, from)], times[Math.min(times.length - 1, to)]];
    const room = 0.012 * (b - a) || 0.001;
    return { from: a - room, to: b + room };
  }

  /** The stretch of time shown. An address may ask for one that is not there. */
  get span(): Span {
    return this.place.span ? moved(this.place.span, 0, this.whole) : this.whole;
  }

  set span(s: Span) {
    const w = this.whole;
    this.place.span = s.from <= w.from && s.to >= w.to ? null : s;
    this.placed();
  }

  /** The frame under the cursor; at first the one in which the chief speed was reached, else the middle of the flight. */
  get frame(): number {
    const { from, to, times } = this.view;
    const want = Math.round(this.place.frame ?? this.opening());
    return Math.min(Math.min(to, times.length - 1), Math.max(from, want));
  }

  set frame(i: number) {
    const { from, to, times } = this.view;
    this.leaving();
    this.place.frame = Math.min(Math.min(to, times.length - 1), Math.max(from, Math.round(i)));
    const s = this.place.span && holding(this.place.span, times[this.place.frame], this.whole);
    if (s) this.place.span = s;
    this.placed();
  }

  private opening(): number {
    const start = this.firstMotion()?.value ?? this.view.times[this.view.from];
    const reached = measured(this.view, this.place.lane, "time_to_speed").at(-1);
    const end = this.lane.trace.at(-1)?.t ?? start;
    return nearest(this.view.times, reached ? start + reached.value! : (start + end) / 2);
  }

  placed() {
    keepPlace(this.place);
    this.tell("place");
  }

  firstMotion() {
    return measured(this.view, this.place.lane, "first_motion")[0];
  }

  /** The time all times on the sheet are counted from, s from frame 0. */
  get zero(): number {
    return this.place.zero === "motion" ? (this.firstMotion()?.value ?? 0) : 0;
  }

  /** What times are counted from, in words. */
  get zeroWords(): string {
    return this.place.zero === "motion" && this.firstMotion() ? "first motion" : "frame 0";
  }

  point(frame: number, lane = this.lane): Point | undefined {
    return lane.trace[indexOf(lane.trace, frame)];
  }

  /** The state of the motion at a frame, undefined where it is more than half a frame away. */
  motion(frame: number, lane = this.lane): Motion | undefined {
    const t = this.point(frame, lane)?.t ?? this.view.times[frame];
    const k = nearest(timesOf(lane), t);
    const h = lane.history[k];
    const step = Math.abs((this.view.times[frame + 1] ?? t) - (this.view.times[frame - 1] ?? t)) / 2;
    return h && Math.abs(h.t - t) <= 0.5 * step + 1e-9 ? h : undefined;
  }

  marked(frame: number, lane = this.place.lane) {
    return this.view.marks.find((m) => m.frame === frame && m.lane === lane);
  }

  /** Where the vehicle is taken to be in a frame: as held, as traced, or between the nearest frames that were traced. */
  where(frame: number): { x: number; y: number; height: number | null; known: boolean } {
    const h = this.held;
    if (h && h.frame === frame && h.lane === this.place.lane) return { x: h.x, y: h.y, height: h.height, known: true };
    const lane = this.lane;
    const p = this.point(frame);
    if (p) return { x: p.x, y: p.y, height: p.height, known: true };
    const after = lane.trace.findIndex((q) => q.frame > frame);
    const [a, b] = [lane.trace[after < 0 ? lane.trace.length - 1 : after - 1], lane.trace[after < 0 ? -1 : after]];
    if (!a && !b) return { x: lane.line.x0, y: lane.line.y0, height: 0, known: false };
    if (!a || !b) return { x: (a ?? b).x, y: (a ?? b).y, height: (a ?? b).height, known: false };
    const s = (frame - a.frame) / (b.frame - a.frame);
    return { x: a.x + s * (b.x - a.x), y: a.y + s * (b.y - a.y), height: a.height + s * (b.height - a.height), known: false };
  }

  /** Holds a place given in px. */
  hold(frame: number, x: number, y: number) {
    this.held = { lane: this.place.lane, frame, x, y, height: this.heightAt(x, y) };
    this.tell("held");
  }

  /** Holds a place given by its height: it moves along the flight line only. */
  holdHeight(frame: number, height: number) {
    const at = this.where(frame);
    const { ux, uy } = this.lane.line;
    const by = this.along(height) - this.alongOf(at.x, at.y);
    this.hold(frame, at.x + by * ux, at.y + by * uy);
  }

  private alongOf(x: number, y: number): number {
    const { x0, y0, ux, uy } = this.lane.line;
    return (x - x0) * ux + (y - y0) * uy;
  }

  /** px along the flight line of a height, by the trace. */
  private along(height: number): number {
    const [a, b] = this.bracket((p) => p.height, height);
    const [sa, sb] = [this.alongOf(a.x, a.y), this.alongOf(b.x, b.y)];
    return sa + ((height - a.height) * (sb - sa)) / (b.height - a.height);
  }

  private heightAt(x: number, y: number): number | null {
    const s = this.alongOf(x, y);
    if (this.lane.trace.length < 2) return null;
    const [a, b] = this.bracket((p) => this.alongOf(p.x, p.y), s);
    const [sa, sb] = [this.alongOf(a.x, a.y), this.alongOf(b.x, b.y)];
    return a.height + ((s - sa) * (b.height - a.height)) / (sb - sa);
  }

  /** Two traced points some way apart between which, or beyond which, a value lies. */
  private bracket(of: (p: Point) => number, v: number): [Point, Point] {
    const { trace } = this.lane;
    const sorted = [...trace].sort((p, q) => of(p) - of(q));
    const far = (of(sorted[sorted.length - 1]) - of(sorted[0])) / 12 || 1;
    let k = sorted.findIndex((p) => of(p) >= v);
    if (k < 0) k = sorted.length - 1;
    let [i, j] = [k, k];
    while (i > 0 && of(sorted[j]) - of(sorted[i]) < far) i--;
    while (j < sorted.length - 1 && of(sorted[j]) - of(sorted[i]) < far) j++;
    return [sorted[i], sorted[j]];
  }
}

function indexOf(trace: Point[], frame: number): number {
  let [low, high] = [0, trace.length - 1];
  while (low <= high) {
    const mid = (low + high) >> 1;
    if (trace[mid].frame === frame) return mid;
    if (trace[mid].frame < frame) low = mid + 1;
    else high = mid - 1;
  }
  return -1;
}

const times = new WeakMap<Lane, number[]>();

function timesOf(lane: Lane): number[] {
  let list = times.get(lane);
  if (!list) times.set(lane, (list = lane.history.map((h) => h.t)));
  return list;
}
