// Lines across the rows: gates and when they were passed, the speeds asked for, first motion, the cursor.

import { dashes, Inks } from "./inks";
import type { Model } from "./model";
import { factorOf, printed, unitOf, Units } from "./reading";
import { crisp, Frame, Row, words, xOf, yOf } from "./row";
import { measured } from "./view";

const across = (c: CanvasRenderingContext2D, f: Frame, y: number) => {
  c.beginPath();
  c.moveTo(f.left, y);
  c.lineTo(f.right, y);
  c.stroke();
};

const asked = (v: number, factor: number, unit: string) => `${Number((v * factor).toPrecision(4))} ${printed(unit)}`;

/** Gates as lines over the streak, each with the stretch of time in which it was passed. */
export function drawGates(c: CanvasRenderingContext2D, f: Frame, r: Row, m: Model, u: Units, k: Inks) {
  const lane = m.place.lane;
  const heights = [...new Set(m.view.answers.filter((a) => a.id === "gate_crossing" && (a.lane ?? 1) === lane).map((a) => a.height!))];
  c.font = `600 12px ${k.figures}`;
  c.textAlign = "left";
  c.textBaseline = "bottom";
  let last = Infinity;
  for (const h of heights.sort((a, b) => a - b)) {
    const y = crisp(yOf(r, h));
    if (y < r.top || y > r.top + r.height) continue;
    c.strokeStyle = k.gate;
    c.lineWidth = 1;
    c.setLineDash([1, 3]);
    across(c, f, y);
    c.setLineDash([]);
    // Gates closer than a line of text are drawn, not all labelled.
    if (last - y < 15 || y < r.top + 15) continue;
    last = y;
    words(c, asked(h, factorOf(u, "length"), unitOf(u, "length")), f.left + 6, y - 1, k.gate, k);
  }
  for (const a of measured(m.view, lane, "gate_crossing")) crossing(c, f, yOf(r, a.height!), a.value!, a.interval95!, k);
}

/** A crossing: an upright tick with its interval as a bar, at least wide enough to be seen. */
function crossing(c: CanvasRenderingContext2D, f: Frame, y: number, t: number, [low, high]: [number, number], k: Inks) {
  const [a, b, x] = [xOf(f, low), xOf(f, high), xOf(f, t)];
  for (const [ink, more] of [[k.paper, 2.5], [k.gate, 0]] as const) {
    c.strokeStyle = ink;
    c.lineWidth = 1.5 + more;
    c.beginPath();
    c.moveTo(x, y - 6);
    c.lineTo(x, y + 6);
    c.moveTo(Math.min(a, x - 2), y);
    c.lineTo(Math.max(b, x + 2), y);
    c.stroke();
  }
}

/** The speeds asked for, with the stretch of time in which each was reached. */
export function drawSpeeds(c: CanvasRenderingContext2D, f: Frame, r: Row, m: Model, k: Inks) {
  const lane = m.place.lane;
  c.font = `600 12px ${k.figures}`;
  c.textAlign = "left";
  c.textBaseline = "bottom";
  const start = m.firstMotion();
  const all = m.view.answers.filter((a) => a.id === "time_to_speed" && (a.lane ?? 1) === lane);
  let last = Infinity;
  for (const a of all.sort((p, q) => p.speed! - q.speed!)) {
    const y = crisp(yOf(r, a.speed!));
    if (y < r.top + 3 || y > r.top + r.height) continue;
    c.strokeStyle = k.gate;
    c.lineWidth = 1;
    c.setLineDash([1, 3]);
    across(c, f, y);
    c.setLineDash([]);
    if (last - y >= 15) words(c, a.label.replace(/^time to /, ""), f.left + 6, y - 1, k.gate, k);
    last = y;
    if (a.value === undefined || !start) continue;
    crossing(c, f, y, start.value! + a.value, [start.value! + a.interval95![0], start.value! + a.interval95![1]], k);
  }
}

/** First motion of every lane, through all rows, in the lane's own stroke, with its interval. */
export function drawFirstMotion(c: CanvasRenderingContext2D, f: Frame, top: number, bottom: number, m: Model, k: Inks) {
  for (const lane of m.view.lanes) {
    const a = measured(m.view, lane.lane, "first_motion")[0];
    if (!a) continue;
    const pen = (lane.lane - 1) % dashes.length;
    const [x0, x1] = [xOf(f, a.interval95![0]), xOf(f, a.interval95![1])];
    const x = xOf(f, a.value!);
    if (x < f.left || x > f.right) continue;
    c.fillStyle = k.band[pen];
    c.fillRect(Math.max(f.left, x0), top, Math.min(f.right, x1) - Math.max(f.left, x0), bottom - top);
    c.strokeStyle = k.pen[pen];
    c.lineWidth = 1;
    c.setLineDash(m.view.lanes.length > 1 ? (dashes[pen] as number[]) : []);
    c.beginPath();
    c.moveTo(x, top);
    c.lineTo(x, bottom);
    c.stroke();
    c.setLineDash([]);
  }
}

/** The cursor: one line through all rows, and a ring where the vehicle is taken to be. */
export function drawCursor(c: CanvasRenderingContext2D, f: Frame, top: number, bottom: number, m: Model, k: Inks) {
  const x = xOf(f, m.point(m.frame)?.t ?? m.view.times[m.frame]);
  if (x < f.left - 1 || x > f.right + 1) return;
  c.setLineDash([]);
  for (const [ink, width] of [[k.paper, 3], [k.cursor, 1]] as const) {
    c.strokeStyle = ink;
    c.lineWidth = width;
    c.beginPath();
    c.moveTo(crisp(x), top);
    c.lineTo(crisp(x), bottom);
    c.stroke();
  }
}

/** The ring by which the place in this frame can be dragged. */
export function drawHandle(c: CanvasRenderingContext2D, f: Frame, r: Row, m: Model, k: Inks) {
  const at = m.where(m.frame);
  if (at.height === null) return;
  const x = xOf(f, m.point(m.frame)?.t ?? m.view.times[m.frame]);
  const y = yOf(r, at.height);
  for (const [ink, width] of [[k.paper, 4.5], [k.cursor, 1.75]] as const) {
    c.strokeStyle = ink;
    c.lineWidth = width;
    c.setLineDash(at.known || ink === k.paper ? [] : [3, 2.5]);
    c.beginPath();
    c.arc(x, y, m.marked(m.frame) ? 10 : 7, 0, 2 * Math.PI);
    c.stroke();
  }
  c.setLineDash([]);
}
