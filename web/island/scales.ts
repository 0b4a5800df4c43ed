// From where to where the rows of the sheet reach.

import { Curve, seen } from "./row";
import type { Span } from "./span";
import type { Lane } from "./view";

/** The least height the streak shows, m: closer, nothing more can be seen in it. */
export const leastHeight = 0.01;

/** All heights there are: those of the streaks, else of the traces. */
export function heights(lanes: Lane[]): [number, number] {
  const bands = lanes.flatMap((l) => (l.streak ? [l.streak.h0, l.streak.h1] : l.trace.map((p) => p.height)));
  return bands.length ? [Math.min(...bands), Math.max(...bands)] : [0, 1];
}

/** The values curves take in a stretch of time, with as much of their bands as leaves the curves most of the paper. */
export function rangeOf(curves: Curve[], s: Span, least: number): [number, number] {
  let [low, high] = [0, 0];
  let any = false;
  const each = (f: (v: number, half: number) => void) => {
    for (const k of curves) {
      const [i, j] = seen(k.t, s);
      for (let n = i; n <= j; n++) if (!Number.isNaN(k.v[n])) f(k.v[n], k.half[n]);
    }
  };
  each((v) => {
    [low, high] = any ? [Math.min(low, v), Math.max(high, v)] : [v, v];
    any = true;
  });
  const most = 0.3 * (high - low) || 1;
  let [bottom, top] = [low, high];
  each((v, half) => {
    bottom = Math.min(bottom, v - Math.min(half, most));
    top = Math.max(top, v + Math.min(half, most));
  });
  const room = Math.max(0.08 * (top - bottom), (least - (top - bottom)) / 2) || 1;
  return [bottom - room, top + room];
}
