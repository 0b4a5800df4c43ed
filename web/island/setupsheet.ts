// What the setup page holds: the sections as they are written in the launch file, and what of them is not kept yet.

import { api, launchPath, Refusal } from "../client/desk";
import type { KeyText, Problem } from "../client/types";

export interface SetupView {
  revision: string;
  frame_width: number;
  frame_height: number;
  frames: number;
  setup: string;
  shared_by: string[] | null;
  own: string[] | null;
  scale: Record<string, any>;
  time: Record<string, any>;
  camera: Record<string, any>;
  residuals: [number, number][] | null;
  says: string[] | null;
  time_says: string[] | null;
  time_problem: Problem | null;
  warnings: { code: string; message: string }[] | null;
  problem: Problem | null;
}

interface LaunchView {
  title: string;
  vehicle: string;
  date: string;
  conditions: KeyText[];
  revision: string;
  can_undo: boolean;
  can_redo: boolean;
  undo_what: string;
  redo_what: string;
  follow: { frame: number };
}

export type Kind = "rod" | "length" | "plane";

/** A place on the reference, px; at is its height on a rod, its two coordinates on a plane. */
export interface Spot {
  at: string;
  across: string; // second coordinate on a plane
  x: number;
  y: number;
}

/** What is said of the launch, as the page has it. */
export interface Said {
  title: string;
  vehicle: string;
  date: string;
  conditions: KeyText[];
}

type Section = "scale" | "time" | "camera" | "describe";
const wait = 500; // ms without a change, then it is kept

const listKey: Record<Kind, string> = { rod: "marks", length: "ends", plane: "points" };
const ownKeys: Record<Kind, string[]> = {
  rod: ["mark_uncertainty", "rod_range", "flight_range", "lean"],
  length: ["length", "mark_uncertainty", "lean"],
  plane: ["mark_uncertainty", "lean"],
};

export class Sheet {
  setup!: SetupView;
  view!: LaunchView;
  said: Said = { title: "", vehicle: "", date: "", conditions: [] };
  kind: Kind = "rod";
  spots: Spot[] = [];
  chosen = -1;
  frame = 0;
  open = false; // something is not kept yet
  refused = ""; // why it was not
  private stood = ""; // the scale as the launch file has it
  private dirty = new Set<Section>();
  private timer = 0;
  private listeners: (() => void)[] = [];
  private turn: Promise<void> = Promise.resolve();

  constructor(readonly name: string) {}

  onChange(f: () => void) {
    this.listeners.push(f);
  }
  changed() {
    for (const f of this.listeners) f();
  }

  /** Reads how things stand. What was not kept is let go. */
  async load() {
    const path = launchPath(this.name);
    const [setup, view] = await Promise.all([api<SetupView>("GET", path + "/setup"), api<LaunchView>("GET", path)]);
    this.take(setup, view);
  }

  private take(setup: SetupView, view: LaunchView) {
    const first = !this.setup;
    this.setup = setup;
    this.stood = JSON.stringify(setup.scale);
    this.view = view;
    this.dirty.clear();
    this.open = false;
    this.refused = "";
    this.said = { title: view.title, vehicle: view.vehicle, date: view.date, conditions: stillHeld(this.said.conditions, view.conditions) };
    this.kind = (setup.scale.kind as Kind) ?? this.kind;
    this.spots = spotsOf(this.kind, setup.scale[listKey[this.kind]] ?? []);
    this.chosen = Math.min(this.chosen, this.spots.length - 1);
    if (!first) sessionStorage.removeItem(this.draftKey);
    if (first) {
      this.frame = Math.min(Math.max(0, view.follow.frame), Math.max(0, setup.frames - 1));
      if (this.spots.length > 0) this.chosen = 0;
    }
    this.changed();
  }

  private get draftKey() {
    return `setup:${this.name}`;
  }

  /** Marks that are no whole reference yet cannot be kept in the launch file; they outlive a reload in the tab. */
  private saveDraft() {
    const draft = { stood: this.stood, kind: this.kind, spots: this.spots, scale: this.setup.scale };
    sessionStorage.setItem(this.draftKey, JSON.stringify(draft));
  }

  /** Takes up marks that were not kept when the page was left, unless the scale was edited since. */
  takeDraft() {
    const text = sessionStorage.getItem(this.draftKey);
    const draft = text && JSON.parse(text);
    if (!draft || draft.stood !== this.stood) return;
    this.kind = draft.kind;
    this.spots = draft.spots;
    this.setup.scale = draft.scale;
    this.chosen = this.spots.length - 1;
    this.touch("scale");
  }

  /** Notes a change of a section and keeps it soon. */
  touch(section: Section) {
    this.dirty.add(section);
    if (section === "scale") this.saveDraft();
    this.open = true;
    this.refused = "";
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.keep().catch(() => {}), wait);
    this.changed();
  }

  /** What the reference still lacks; empty where it is whole. */
  missing(): string {
    const n = this.spots.length;
    if (this.kind === "length") {
      if (n < 2) return n === 0 ? "place its two ends" : "place its other end";
      return this.setup.scale.length ? "" : "say how long it is";
    }
    const least = this.kind === "rod" ? 2 : 4;
    if (n < least) return `place ${least - n} more ${least - n === 1 ? "mark" : "marks"}`;
    return this.spots.every((s) => s.at.trim() && (this.kind === "rod" || s.across.trim())) ? "" : "say where each mark is on it";
  }

  status(): string {
    if (this.refused) return `Not kept: ${this.refused}`;
    if (this.dirty.has("scale") && this.missing()) return `Not kept yet: ${this.missing()}.`;
    if (this.open) return "Being kept.";
    return this.spots.length === 0 ? "Nothing is marked yet." : "All is kept.";
  }

  /** Keeps what can be kept. One request at a time: each stands on the revision the one before it made. */
  keep(): Promise<void> {
    clearTimeout(this.timer);
    const next = this.turn.then(() => this.send());
    this.turn = next.catch(() => {});
    return next;
  }

  private async send() {
    const sections = [...this.dirty].filter((s) => s !== "scale" || !this.missing());
    if (sections.length === 0) return;
    const changes = sections.map((s) => ({ do: s, values: this.values(s) }));
    for (const s of sections) this.dirty.delete(s);
    try {
      const view = await api<LaunchView>("POST", launchPath(this.name) + "/edits", { base: this.setup.revision, changes });
      this.setup.revision = view.revision;
      this.view = view;
      const fresh = await api<SetupView>("GET", launchPath(this.name) + "/setup");
      this.open = this.dirty.size > 0;
      if (!this.open && fresh.revision === view.revision) this.take(fresh, view);
      else this.changed();
    } catch (problem) {
      for (const s of sections) this.dirty.add(s);
      this.refused = problem instanceof Refusal ? `${problem.message}. ${problem.hint}.` : String(problem);
      this.changed();
      throw problem;
    }
  }

  /** Takes the last edit back, or does it again. */
  async step(way: "undo" | "redo") {
    await api("POST", launchPath(this.name) + "/" + way, { base: this.setup.revision });
    await this.load();
  }

  private values(s: Section): Record<string, any> {
    if (s === "scale") return this.scale();
    if (s !== "describe") return this.setup[s];
    const { title, vehicle, date, conditions } = this.said;
    return { title, vehicle, date, conditions: Object.fromEntries(conditions.filter((c) => c.key && c.text).map((c) => [c.key, c.text])) };
  }

  /** The section [scale] as it is to be written. */
  private scale(): Record<string, any> {
    const out: Record<string, any> = { kind: this.kind };
    for (const key of ownKeys[this.kind]) out[key] = this.setup.scale[key] ?? "";
    const at = (s: Spot) => ({ x: round(s.x), y: round(s.y) });
    out[listKey[this.kind]] = this.spots.map((s) =>
      this.kind === "rod" ? { at: s.at.trim(), ...at(s) } : this.kind === "plane" ? { at: [s.at.trim(), s.across.trim()], ...at(s) } : at(s),
    );
    return out;
  }

  choose(i: number) {
    this.chosen = i;
    this.changed();
  }

  /** Adds a mark, or moves the chosen end where a length has both. */
  add(x: number, y: number) {
    if (this.kind === "length" && this.spots.length === 2) {
      this.move(Math.max(0, this.chosen), x, y);
      return;
    }
    this.spots.push({ at: this.kind === "rod" ? this.nextAt() : "", across: "", x, y });
    this.chosen = this.spots.length - 1;
    this.touch("scale");
  }

  move(i: number, x: number, y: number) {
    const s = this.spots[i];
    s.x = Math.min(this.setup.frame_width - 0.5, Math.max(-0.5, x));
    s.y = Math.min(this.setup.frame_height - 0.5, Math.max(-0.5, y));
    this.touch("scale");
  }

  remove(i: number) {
    this.spots.splice(i, 1);
    this.chosen = Math.min(i, this.spots.length - 1);
    this.touch("scale");
  }

  /** Marks are mostly evenly spaced: the next one's height goes on as the last two did. */
  private nextAt(): string {
    const last = this.spots.at(-1);
    if (!last) return "0 m";
    const before = this.spots.at(-2);
    const a = before && parse(before.at);
    const b = parse(last.at);
    if (!a || !b || a.unit !== b.unit) return "";
    return `${Number((2 * b.value - a.value).toPrecision(8))} ${b.unit}`;
  }
}

/** The fields on the page hold on to their conditions: one that is known by its name stays the same object, and one not finished yet stays. */
function stillHeld(held: KeyText[], now: KeyText[]): KeyText[] {
  const left = [...held];
  const known = now.map((n) => {
    const i = left.findIndex((c) => c.key === n.key);
    return i < 0 ? { ...n } : Object.assign(left.splice(i, 1)[0], n);
  });
  return [...known, ...left.filter((c) => !c.key || !c.text)];
}

const round = (v: number) => Math.round(v * 100) / 100;

function parse(text: string): { value: number; unit: string } | null {
  const m = /^\s*(-?\d+(?:\.\d+)?)\s*(\D+?)\s*$/.exec(text);
  return m ? { value: Number(m[1]), unit: m[2] } : null;
}

function spotsOf(kind: Kind, list: any[]): Spot[] {
  return list.map((m) => ({
    at: kind === "plane" ? String(m.at?.[0] ?? "") : String(m.at ?? ""),
    across: kind === "plane" ? String(m.at?.[1] ?? "") : "",
    x: Number(m.x),
    y: Number(m.y),
  }));
}
