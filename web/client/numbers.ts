// Numbers as they stand on paper: one under the other on the decimal point, figures of one width.

import { el } from "./draw";

/** A number taken apart for a column: what stands before the point, what after it, and the unit. */
export interface Figure {
  whole: string;
  part: string; // with its point, or empty
  unit: string;
}

const shape = /^([-−+]?\d[\d ,]*)(\.\d+)?(e[-+]?\d+)?\s*(.*)$/i;

/** Takes "28.41 m/s" apart; null where it is not a plain number. */
export function figure(text: string): Figure | null {
  const m = shape.exec(text.trim());
  return m ? { whole: m[1].replace("-", "−"), part: (m[2] ?? "") + (m[3] ?? ""), unit: unit(m[4]) } : null;
}

/** Takes "28.30 to 28.52 m/s" apart. */
export function ends(text: string): [Figure, Figure] | null {
  const m = /^(.+?) to (.+)$/.exec(text.trim());
  const a = m && figure(m[1]);
  const b = m && figure(m[2]);
  return a && b ? [a, b] : null;
}

/** Writes a unit as a person does. */
export const unit = (u: string) => u.replace(/m\/s2\b/g, "m/s²").replace(/\bdegC\b/g, "°C");

/** A number for a column whose widths are --whole and --part. Screen readers get it in one piece. */
export function column(f: Figure, withUnit: boolean): DocumentFragment {
  const spoken = f.whole + f.part + (withUnit ? " " + f.unit : "");
  const d = document.createDocumentFragment();
  d.append(
    el("span", { class: "spoken" }, spoken),
    el("span", { "aria-hidden": "true", class: "num" }, el("span", { class: "whole" }, f.whole), el("span", { class: "part" }, f.part), withUnit && el("span", { class: "unit" }, f.unit)),
  );
  return d;
}

/** How many figures a column needs on each side of the point. */
export function widths(figures: (Figure | null)[]): { whole: number; part: number } {
  let [whole, part] = [1, 0];
  for (const f of figures) {
    if (!f) continue;
    whole = Math.max(whole, f.whole.length);
    part = Math.max(part, f.part.length);
  }
  return { whole, part };
}

/** Bytes as a person reads them. */
export function bytes(n: number): string {
  if (n < 1e6) return `${Math.max(1, Math.round(n / 1e3))} kB`;
  return n < 1e9 ? `${(n / 1e6).toFixed(1)} MB` : `${(n / 1e9).toFixed(2)} GB`;
}

/** Begins a sentence; the name of a file, or of the program, that comes first stays as it is. */
export function upper(s: string): string {
  return /^(?!padside\b)[a-z]+(?![\w./\\:-])/.test(s) ? s[0].toUpperCase() + s.slice(1) : s;
}

/** The words as a sentence ends. */
export const ended = (s: string) => (/[.?!]$/.test(s) ? s : `${s}.`);
