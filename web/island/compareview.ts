// What the desk says of launches compared. Numbers of a row are in the row's unit; curves are SI, time 0 at first motion.

interface Pair {
  of: number; // launches count from 1
  to: number;
  value: number;
  interval95: [number, number];
  text: string;
}

export interface Each {
  status: string;
  text: string;
  interval_text: string;
  value: number | null;
  low: number | null;
  high: number | null;
}

export interface CompareRow {
  id: string;
  label: string;
  unit: string;
  each: Each[];
  ratios: Pair[];
  differences: Pair[];
  odds: { first: number; second: number; probability: number }[];
  designs: string[];
  orders: boolean;
}

export interface CompareCurve {
  launch: number;
  t: number[];
  height: number[];
  speed: number[];
  acceleration: number[];
  u_height: number[];
  u_speed: number[];
  u_acceleration: number[];
}

export interface CurvePoint {
  at: number;
  value: number;
  low: number;
  high: number;
}

export interface SweepLine {
  id: string;
  speed?: number;
  height?: number;
  label: string;
  unit: string;
  key: string;
  key_unit: string;
  points: CurvePoint[];
  curve: CurvePoint[];
  optimum: number;
  optimum_interval95: [number, number];
  optimum_may_lie_outside: boolean;
}

/** What the flight model fitted to all launches has over the condition. */
export interface ModelCurve {
  id: string;
  speed?: number;
  height?: number;
  unit: string;
  points: CurvePoint[];
  optimum: number;
  optimum_interval95: [number, number];
  at_end: boolean;
}

export interface CompareModel {
  model: { flight_file: string; residual_test: { fits: boolean }; curves: ModelCurve[]; warnings: { code: string; message: string }[] } | null;
  fitted: { label: string; text: string }[];
  best: { label: string; text: string }[];
}

export interface Repeats {
  label: string;
  text: string;
  interval_text: string;
  unit: string;
  between_launches_sd: number;
  measuring_sd: number;
  outlier?: number;
  outlier_probability?: number;
}

export interface CompareView {
  launches: { name: string; title: string; setup: string; lane: number }[];
  rows: CompareRow[];
  order: number[][] | null;
  order_by: string;
  places: string[];
  curves: CompareCurve[];
  sweep: SweepLine[];
  repeats: Repeats[];
  warnings: { code: string; message: string }[] | null;
}

/** Stroke and ink of a launch, by its number from 1: launches beyond the fifth combine them anew. */
export function strokeOf(launch: number): { pen: number; dash: number } {
  const n = launch - 1;
  return { pen: n % 5, dash: (n + Math.floor(n / 5)) % 5 };
}
