// What the reader chooses about the sheet: units, zero of time, lane; undo and redo.

import { el, svg } from "../client/draw";
import { unit } from "../client/numbers";
import type { Edits } from "./edits";
import { dashes, strokes } from "./inks";
import type { Model } from "./model";
import { choices, printed, Quantity } from "./reading";

/** A labelled choice. */
export function choice(id: string, label: string, options: [value: string, text: string][], value: string, change: (v: string) => void): HTMLElement {
  const select = el("select", { id, change: () => change(select.value) }, ...options.map(([v, text]) => el("option", { value: v, selected: v === value }, text)));
  return el("span", { class: "choice" }, el("label", { for: id }, label), select);
}

/** Units and zero of time; asked(q) is called when answers must be worded anew. */
export function readingChoices(m: Model, reworded: () => void): HTMLElement {
  const units = (q: Quantity, label: string) =>
    choice(`unit-${q}`, label, choices[q].map((u): [string, string] => [u, printed(u)]), m.units[q], (v) => {
      m.place.units[q] = v;
      m.placed();
      reworded();
    });
  return el(
    "div",
    { class: "choices", role: "group", "aria-label": "How to read" },
    units("speed", "Speeds in"),
    units("length", "Heights in"),
    units("acceleration", "Acceleration in"),
    choice("zero", "Times from", [["motion", "first motion"], ["frame", "frame 0"]], m.place.zero, (v) => {
      m.place.zero = v === "frame" ? "frame" : "motion";
      m.placed();
    }),
  );
}

/** Undo and redo, each saying what it would do. */
export class History {
  readonly box: HTMLElement;
  private undo: HTMLButtonElement;
  private redo: HTMLButtonElement;
  private what = el("span", { class: "faint" });

  constructor(
    private m: Model,
    edits: Edits,
  ) {
    this.undo = el("button", { type: "button", class: "quiet", click: () => void edits.undo() }, "Undo");
    this.redo = el("button", { type: "button", class: "quiet", click: () => void edits.redo() }, "Redo");
    this.box = el("div", { class: "history", role: "group", "aria-label": "History of edits" }, this.undo, this.redo, this.what);
    document.addEventListener("keydown", (e) => {
      if (!(e.ctrlKey || e.metaKey) || e.altKey || e.key.toLowerCase() !== "z") return;
      // A field being typed in has its own undo.
      if (e.target instanceof HTMLInputElement && e.target.type === "text") return;
      e.preventDefault();
      if (e.shiftKey ? this.m.view.can_redo : this.m.view.can_undo) void (e.shiftKey ? edits.redo() : edits.undo());
    });
  }

  renew() {
    const { view } = this.m;
    this.undo.disabled = !view.can_undo;
    this.redo.disabled = !view.can_redo;
    this.undo.title = view.undo_what && `take back: ${view.undo_what} (Ctrl+Z)`;
    this.redo.title = view.redo_what && `do again: ${view.redo_what} (Ctrl+Shift+Z)`;
    this.what.textContent = view.undo_what ? `Last edit: ${unit(view.undo_what)}.` : "";
  }
}

/** The lanes, each with its stroke; nothing where there is but one. */
export function laneChoice(m: Model): HTMLElement | null {
  if (m.view.lanes.length < 2) return null;
  const box = el("fieldset", { class: "lanes" }, el("legend", {}, "Lane"));
  for (const lane of m.view.lanes) {
    const pen = (lane.lane - 1) % dashes.length;
    const line = svg("line", { class: `pen${pen + 1}`, x1: 0, x2: 36, y1: 4, y2: 4, "stroke-dasharray": dashes[pen].join(" ") || "none" });
    const radio = el("input", {
      type: "radio",
      name: "lane",
      id: `lane-${lane.lane}`,
      value: lane.lane,
      checked: lane.lane === m.place.lane,
      change: () => m.choose(lane.lane),
    });
    box.append(el("label", { for: `lane-${lane.lane}` }, radio, svg("svg", { width: 36, height: 8, "aria-hidden": "true" }, line), `${lane.name} `, el("span", { class: "spoken" }, `drawn ${strokes[pen]}`)));
  }
  return box;
}
