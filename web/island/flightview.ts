// What the desk says of a launch's flight model. Quantities are SI; times count from the fitted first motion where not said otherwise.

import type { Job, Problem } from "../client/types";
import type { CurvePoint } from "./compareview";

export interface ModelLine {
  id: string;
  label: string;
  fitted: boolean;
  text: string;
  interval_text: string;
  limited_by: string;
}

export interface State {
  t: number;
  height: number;
  speed: number;
  acceleration: number;
  thrust: number;
}

export interface Measured extends State {
  u_height: number;
  u_speed: number;
  u_acceleration: number;
  u_thrust: number;
}

export interface Residual {
  frame: number;
  t: number; // as the footage counts
  height: number;
  residual: number;
  u: number;
}

export interface Phase {
  name: string;
  from_s: number;
  to_s: number;
  to_interval95: [number, number] | null;
}

export interface Curve {
  id: string;
  unit: string;
  points: CurvePoint[];
  optimum: number;
  optimum_interval95: [number, number];
  value: number;
  at_end: boolean;
}

export interface Sheet {
  phases: Phase[];
  first_motion_s: number;
  residuals: Residual[];
  history: State[];
  measured: Measured[];
  impossible?: string; // what the only flight that comes near has
  water_inertia?: { text: string };
  residual_test: { fits: boolean; frames: number; noise_m: number; smooth_m: number };
  sweep?: { key: string; key_unit: string; stated: number; curves: Curve[] };
}

export interface ModelView {
  name: string;
  flight: string;
  problem: Problem | null;
  stale: boolean;
  job: Job | null;
  fittable: string[];
  free: string[];
  lines: ModelLine[];
  safety: string[];
  doubts: string[];
  sheet: Sheet | null;
  best: { label: string; text: string }[];
}
