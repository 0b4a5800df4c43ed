// What the desk says, as JSON. Quantities are SI; places are px, x right, y down, centre of the top left pixel at 0, 0.

export type LaunchState = "new" | "measured" | "stale" | "measuring" | "failed" | "footage-changed" | "footage-missing";

export interface KeyText {
  key: string;
  text: string;
}

export interface Chief {
  id: string;
  lane: number;
  label: string;
  text: string;
  interval: string;
  value: number;
  low: number;
  high: number;
  unit: string;
}

export interface Card {
  name: string;
  title: string;
  vehicle: string;
  date: string;
  setup: string;
  conditions: KeyText[];
  state: LaunchState;
  problem: string;
  frames: number;
  basis: string;
  rate_hz: number;
  exposure: boolean;
  chief: Chief[];
  changed: string;
}

export interface Problem {
  message: string;
  hint: string;
  kind?: string;
}

export interface Job {
  id: string;
  launch: string;
  race?: string; // where it works on a race
  model?: boolean; // where it fits the launch's flight model
  shoot?: string; // where it plans or rehearses a shoot
  stage: string;
  done: number;
  total: number;
  state: "waiting" | "running" | "done" | "failed" | "cancelled";
  problem: Problem | null;
}

export interface DeskEvent {
  kind: "job" | "launch" | "logbook" | "heat" | "model" | "shoot";
  job?: Job;
  launch?: string;
  revision?: string;
  who?: string;
}
