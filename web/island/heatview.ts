// What the desk says of heats.

import type { Problem } from "../client/types";

export interface HeatCard {
  name: string;
  title: string;
  date: string;
  entries: number;
  problem: Problem | null;
}

export interface HeatLine {
  entry: number;
  number: string;
  name: string;
  about: string;
  launch: string; // in the logbook; empty elsewhere
  lane: number;
  standing: "classified" | "not-classified" | "no-result" | "waiting";
  place: string;
  text: string;
  interval_text: string;
  value: number | null;
  low: number | null;
  high: number | null;
  behind: string;
  behind_interval: string;
  first: string;
  reasons: string[];
  problem: string;
  notes: string[];
  film: string;
}

export interface Heat {
  title: string;
  date: string;
  raced_on: string;
  best: string;
  unit: string;
  rules: string[];
  lines: HeatLine[];
  sharing: string;
  measured: string[];
  warnings: string[];
}

export interface Rule {
  key: string;
  is?: string;
  same?: boolean;
  within?: string;
  least?: string;
  most?: string;
}

export interface Entry {
  launch: string;
  lane: number;
  number: string;
  name: string;
  conditions: { key: string; text: string }[];
}

export interface Form {
  title: string;
  date: string;
  answer: string;
  speed: string;
  height: string;
  rules: Rule[];
  entries: Entry[];
}

export interface HeatPage {
  name: string;
  revision: string;
  heat: Heat | null;
  form: Form | null;
  problem: Problem | null;
}
