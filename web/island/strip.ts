// The filmstrip: frames at their own times. Only those in view are fetched.

import type { Frames } from "./frames";
import type { Inks } from "./inks";
import type { Model } from "./model";
import { crisp, Frame, Row, xOf } from "./row";
import { above } from "./view";

/** Frames of the strip at these widths only, so that zooming finds them in the cache. */
const widths = [40, 80, 160, 320];

/** Draws the strip and says which pictures it wants, most wanted first. */
export function drawStrip(c: CanvasRenderingContext2D, f: Frame, r: Row, m: Model, frames: Frames, k: Inks): string[] {
  const { footage, times } = m.view;
  if (!footage) return [];
  const picture = r.height - 10;
  const width = Math.max(8, (picture * footage.width) / footage.height);
  const asked = widths.find((w) => w >= width * devicePixelRatio) ?? widths[widths.length - 1];
  const wanted: { path: string; far: number }[] = [];
  c.font = `12px ${k.figures}`;
  const cursor = xOf(f, times[m.frame]);
  for (const i of placed(m, f, width + 4)) {
    const x = xOf(f, times[i]);
    const left = x - width / 2;
    const path = frames.small(i, asked);
    wanted.push({ path, far: Math.abs(x - cursor) });
    const bitmap = frames.get(path);
    if (bitmap) c.drawImage(bitmap, left, r.top, width, picture);
    else {
      c.strokeStyle = k.ruling2;
      c.setLineDash([]);
      c.strokeRect(crisp(left), crisp(r.top), Math.round(width) - 1, Math.round(picture) - 1);
    }
    // Each picture hangs over the instant it was taken.
    c.strokeStyle = k.faint;
    c.lineWidth = 1;
    c.beginPath();
    c.moveTo(crisp(x), r.top + picture + 2);
    c.lineTo(crisp(x), r.top + r.height);
    c.stroke();
  }
  return wanted.sort((a, b) => a.far - b.far).map((w) => w.path);
}

/** The frames whose pictures fit beside each other: every nth, n a round number, so that panning does not change the choice. */
function placed(m: Model, f: Frame, room: number): number[] {
  const { times, from, to } = m.view;
  const i = Math.max(from, above(times, f.span.from));
  const j = Math.min(to, above(times, f.span.to) - 1);
  const perFrame = ((times[to] - times[from]) / Math.max(1, to - from) / (f.span.to - f.span.from)) * (f.right - f.left);
  const step = round(room / perFrame);
  const out: number[] = [];
  let last = -Infinity;
  for (let n = Math.ceil(i / step) * step; n <= j; n += step) {
    const x = xOf(f, times[n]);
    if (x - last < room - 0.5 || x - room / 2 < f.left - 2 || x + room / 2 > f.right + 2) continue; // stills may come unevenly
    last = x;
    out.push(n);
  }
  return out;
}

function round(n: number): number {
  for (let power = 1; ; power *= 10) for (const k of [1, 2, 3, 4, 5, 6, 8]) if (k * power >= n) return k * power;
}
