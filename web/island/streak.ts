// The streak: the whole flight as one picture, height upward, printed in the paper's own inks, with the trace on it.

import { channels, dashes, Inks } from "./inks";
import { doubtful, Model } from "./model";
import { coverage } from "./reading";
import { Curve, drawBand, drawCurve, Frame, Row, seen, xOf, yOf } from "./row";
import type { Lane, Point, Streak } from "./view";

/** Prints a grey picture in two inks: white as paper, black as ink, on dark paper the other way about. */
export function printed(picture: ImageBitmap, k: Inks): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = picture.width;
  canvas.height = picture.height;
  const c = canvas.getContext("2d", { willReadFrequently: true })!;
  c.drawImage(picture, 0, 0);
  const data = c.getImageData(0, 0, canvas.width, canvas.height);
  const [paper, ink] = [channels(k.paper), channels(k.ink)];
  const [white, black] = k.dark ? [ink, paper] : [paper, ink];
  // The print stays a little pale, so that the pens stand out from it.
  const strength = k.dark ? 0.62 : 0.72;
  const table = new Uint8ClampedArray(256 * 3);
  for (let g = 0; g < 256; g++) {
    const s = k.dark ? (g / 255) * strength : 1 - (1 - g / 255) * strength;
    for (let n = 0; n < 3; n++) table[3 * g + n] = black[n] + s * (white[n] - black[n]);
  }
  clearOutside(data);
  for (let i = 0; i < data.data.length; i += 4) {
    const g = 3 * data.data[i];
    data.data[i] = table[g];
    data.data[i + 1] = table[g + 1];
    data.data[i + 2] = table[g + 2];
  }
  c.putImageData(data, 0, 0);
  return canvas;
}

/** Takes the ink off where a column reaches beyond the frame: there it is black without a break up to its end. */
function clearOutside({ data, width, height }: ImageData) {
  for (let x = 0; x < width; x++) {
    for (const [from, step] of [[0, 1], [height - 1, -1]]) {
      for (let y = from; y >= 0 && y < height; y += step) {
        const i = 4 * (y * width + x);
        if (data[i] > 0) break;
        data[i + 3] = 0;
      }
    }
  }
}

/** Draws the picture column by column at the columns' times; columns that follow evenly go in one piece. */
export function drawPicture(c: CanvasRenderingContext2D, f: Frame, r: Row, s: Streak, picture: HTMLCanvasElement) {
  const [top, bottom] = [yOf(r, s.h1), yOf(r, s.h0)];
  const [first, last] = seen(s.times, f.span);
  const edge = (i: number) => {
    if (i <= 0) return s.times[0] - (s.times[1] - s.times[0]) / 2;
    const n = s.times.length;
    return i >= n ? s.times[n - 1] + (s.times[n - 1] - s.times[n - 2]) / 2 : (s.times[i - 1] + s.times[i]) / 2;
  };
  let i = first;
  while (i <= last) {
    const step = edge(i + 1) - edge(i);
    let j = i + 1;
    while (j <= last && Math.abs(edge(j + 1) - edge(j) - step) < 0.02 * step) j++;
    const [a, b] = [xOf(f, edge(i)), xOf(f, edge(j))];
    c.imageSmoothingEnabled = (b - a) / (j - i) < 3;
    c.drawImage(picture, i, 0, j - i, picture.height, a, top, b - a, bottom - top);
    i = j;
  }
  c.imageSmoothingEnabled = true;
}

/** The trace as a curve: the pen is lifted where frames are missing. */
export function traceCurve(lane: Lane): Curve {
  const curve: Curve = { t: [], v: [], half: [] };
  let last: Point | undefined;
  for (const p of lane.trace) {
    if (last && p.frame > last.frame + 1) {
      curve.t.push((last.t + p.t) / 2);
      curve.v.push(NaN);
      curve.half.push(0);
    }
    curve.t.push(p.t);
    curve.v.push(p.height);
    curve.half.push(coverage * p.u_height);
    last = p;
  }
  return curve;
}

/** The trace of a lane as a fine stroke, its band where that can be seen, and its unusual points by their shape. */
export function drawTrace(c: CanvasRenderingContext2D, f: Frame, r: Row, m: Model, lane: Lane, curve: Curve, k: Inks) {
  const pen = (lane.lane - 1) % dashes.length;
  drawBand(c, f, r, curve, k.band[pen]);
  c.strokeStyle = k.paper;
  c.lineWidth = 3.5;
  drawCurve(c, f, r, curve);
  c.strokeStyle = k.pen[pen];
  c.lineWidth = 1.5;
  c.setLineDash(dashes[pen] as number[]);
  drawCurve(c, f, r, curve);
  c.setLineDash([]);
  const times = lane.trace.map((p) => p.t);
  const [i, j] = seen(times, f.span);
  const perFrame = (xOf(f, times[j]) - xOf(f, times[i])) / Math.max(1, j - i);
  let last = -Infinity;
  for (let n = i; n <= j; n++) {
    const p = lane.trace[n];
    const x = xOf(f, p.t);
    // Squares that would stand on each other say no more than every few of them.
    if (p.source !== "marked" && x - last < squareRoom && !plainly(p)) continue;
    if (!plainly(p)) last = x;
    shape(c, x, yOf(r, p.height), p, perFrame, k.pen[pen], k);
  }
  if (lane === m.lane) drops(c, lane.dropped.map((d) => xOf(f, m.view.times[d.frame])), r, k);
}

/** How far apart squares stand at least, px. */
const squareRoom = 9;

const plainly = (p: Point) => p.source === "followed" && p.quality >= doubtful;

/** Marked by hand: a lozenge. Doubtful: an open square. Followed: a dot where there is room for dots. */
function shape(c: CanvasRenderingContext2D, x: number, y: number, p: Point, perFrame: number, ink: string, k: Inks) {
  c.fillStyle = ink;
  c.strokeStyle = ink;
  c.lineWidth = 1.5;
  if (p.source === "marked") {
    c.beginPath();
    c.moveTo(x, y - 6);
    c.lineTo(x + 6, y);
    c.lineTo(x, y + 6);
    c.lineTo(x - 6, y);
    c.closePath();
    c.fillStyle = k.paper;
    c.fill();
    c.stroke();
  } else if (!plainly(p)) {
    c.fillStyle = k.paper;
    c.fillRect(x - 3, y - 3, 6, 6);
    c.strokeRect(x - 3, y - 3, 6, 6);
  } else if (perFrame > 7) {
    c.beginPath();
    c.arc(x, y, 2.5, 0, 2 * Math.PI);
    c.fill();
  }
}

/** Frames without the vehicle: small crosses at the foot of the streak. */
function drops(c: CanvasRenderingContext2D, xs: number[], r: Row, k: Inks) {
  const y = r.top + r.height - 7;
  for (const [ink, width] of [[k.paper, 4.5], [k.warn, 1.75]] as const) {
    c.strokeStyle = ink;
    c.lineWidth = width;
    c.beginPath();
    for (const x of xs) {
      c.moveTo(x - 3.5, y - 3.5);
      c.lineTo(x + 3.5, y + 3.5);
      c.moveTo(x - 3.5, y + 3.5);
      c.lineTo(x + 3.5, y - 3.5);
    }
    c.stroke();
  }
}
