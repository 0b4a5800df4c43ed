// What the launch page shows is kept in its address: stretch of time, cursor, lane, zero of time, units.

import { choices, Quantity, Units } from "./reading";
import type { Span } from "./span";

export interface Place {
  span: Span | null; // null: all of it
  frame: number | null;
  lane: number;
  zero: "motion" | "frame"; // what times are counted from: first motion, or frame 0
  magnified: number;
  fit: boolean; // scales fit what is shown, not the whole flight
  units: Units;
}

export const magnifications = [2, 4, 6, 8, 12, 16];

export function readPlace(): Place {
  const q = new URLSearchParams(location.search);
  const number = (key: string) => (q.get(key) === null || !Number.isFinite(Number(q.get(key))) ? null : Number(q.get(key)));
  const unit = (key: Quantity) => ((choices[key] as readonly string[]).includes(q.get(key) ?? "") ? q.get(key)! : "");
  const [from, to] = [number("from"), number("to")];
  const magnified = number("magnified") ?? 6;
  return {
    span: from !== null && to !== null && to > from ? { from: from / 1e3, to: to / 1e3 } : null,
    frame: number("frame"),
    lane: number("lane") ?? 1,
    zero: q.get("zero") === "frame" ? "frame" : "motion",
    fit: q.get("fit") === "1",
    magnified: magnifications.includes(magnified) ? magnified : 6,
    units: { speed: unit("speed"), length: unit("length"), acceleration: unit("acceleration") },
  };
}

let waiting: number | undefined;

/** Writes the place into the address, a moment later: browsers refuse more than some writes a second. */
export function keepPlace(p: Place) {
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    const q = new URLSearchParams();
    if (p.span) {
      q.set("from", (p.span.from * 1e3).toFixed(2));
      q.set("to", (p.span.to * 1e3).toFixed(2));
    }
    if (p.frame !== null) q.set("frame", String(p.frame));
    if (p.lane !== 1) q.set("lane", String(p.lane));
    if (p.zero !== "motion") q.set("zero", p.zero);
    if (p.magnified !== 6) q.set("magnified", String(p.magnified));
    if (p.fit) q.set("fit", "1");
    for (const [key, unit] of Object.entries(p.units)) if (unit) q.set(key, unit);
    history.replaceState(null, "", q.size ? `?${q}` : location.pathname);
  }, 250);
}

/** The reader's units as the desk takes them. */
export function unitQuery(u: Units): string {
  const q = new URLSearchParams(Object.entries(u).filter(([, unit]) => unit));
  return q.size ? `?${q}` : "";
}
