// A shoot as the desk has it. Metres: distances level from the camera, heights above the ground under the vehicle's tail.

import type { Job, Problem } from "../client/types";

export interface ShootCard {
  name: string;
  title: string;
  cameras: number;
  problem: Problem | null;
}

export interface Place {
  range_m: number;
  lens_m: number;
  vehicle_m: number;
  rod_range_m: number | null;
  rod_m: number;
  stand_off_m: number | null;
  front_m: number;
  falls: boolean;
}

export interface Option {
  view_low_m: number;
  view_high_m: number | null;
  ways_m: number[];
  tilt_rad: number;
}

export interface Question {
  verdict: "yes" | "marginal" | "no";
  name: string;
  text: string;
  change: string;
}

export interface Mode {
  name: string;
  lines: string[];
  questions: Question[];
  films: boolean;
}

export interface PlanPage {
  name: string;
  title: string;
  text: string;
  revision: string;
  problem: Problem | null;
  job: Job | null;
  stale: boolean;
  place: Place | null;
  plan: { options: Option[]; warnings: { code: string; message: string }[] } | null;
  given: string;
  modes: Mode[];
  bursts: string[];
}
