// What the desk says of one launch. Quantities are SI; times count from frame 0; places are px of the upright frame,
// x right, y down, the centre of the top left pixel at 0, 0; heights are metres up the flight line from rest.

import type { Job, KeyText, LaunchState, Problem } from "../client/types";

export interface Point {
  frame: number;
  t: number;
  x: number;
  y: number;
  u: number; // standard uncertainty along the flight line, px
  height: number;
  u_height: number;
  quality: number;
  source: string; // "followed", "marked", or another word for a coarser way
}

export interface Motion {
  t: number;
  height: number;
  speed: number;
  acceleration: number;
  u_height: number;
  u_speed: number;
  u_acceleration: number;
}

export interface Streak {
  frames: number[];
  times: number[];
  h0: number;
  h1: number;
  rows: number;
}

export interface Lane {
  lane: number;
  name: string;
  line: { x0: number; y0: number; ux: number; uy: number };
  left_view: boolean;
  trace: Point[];
  dropped: { frame: number; reason: string }[];
  history: Motion[];
  streak: Streak | null;
}

export interface Answer {
  id: string;
  lane?: number;
  speed?: number;
  height?: number;
  from?: number;
  to?: number;
  from_frame?: number;
  to_frame?: number;
  unit: string;
  status: "measured" | "not-reached" | "insufficient";
  value?: number;
  standard_uncertainty?: number;
  interval95?: [number, number];
  budget?: { source: string; share: number }[];
  reason?: string;
  label: string;
  text: string;
  interval_text: string;
  sentence: string;
}

export interface View {
  name: string;
  title: string;
  vehicle: string;
  date: string;
  setup: string;
  conditions: KeyText[];
  revision: string;
  can_undo: boolean;
  can_redo: boolean;
  undo_what: string;
  redo_what: string;
  state: LaunchState;
  problem: Problem | null;
  footage_accepted: string; // that the answers count although the footage changed or went, in words; else empty
  job: Job | null;
  footage: { path: string; frames: number; width: number; height: number; basis: string; rate_hz: number; complete: boolean; sha256: string } | null;
  times: number[];
  from: number;
  to: number;
  lanes: Lane[];
  answers: Answer[];
  advice: string;
  warnings: { code: string; message: string }[];
  questions: { speeds: string[]; gates: string[]; drop_check: boolean };
  marks: { lane: number; frame: number; x: number; y: number }[];
  follow: { frame: number; box: [number, number, number, number] | null; lanes: number };
}

/** One edit, as the desk takes it. */
export type Change =
  | { do: "mark"; lane: number; frame: number; x: number; y: number }
  | { do: "unmark"; lane: number; frame: number }
  | { do: "ask"; speeds: string[]; gates: string[] }
  | { do: "follow"; values: { frame?: number | null; box?: number[] | null; lanes?: number | null } };

/** Index of the entry of a rising list that is nearest to v. */
export function nearest(list: readonly number[], v: number): number {
  const k = above(list, v);
  if (k === 0) return 0;
  if (k === list.length) return list.length - 1;
  return v - list[k - 1] <= list[k] - v ? k - 1 : k;
}

/** Index of the first entry of a rising list that is v or more; its length where there is none. */
export function above(list: readonly number[], v: number): number {
  let [low, high] = [0, list.length];
  while (low < high) {
    const mid = (low + high) >> 1;
    if (list[mid] < v) low = mid + 1;
    else high = mid;
  }
  return low;
}

/** The answer to one question about a lane, if it was measured. */
export const measured = (v: View, lane: number, id: string) =>
  v.answers.filter((a) => a.id === id && (a.lane ?? 1) === lane && a.status === "measured" && a.value !== undefined && a.interval95);
