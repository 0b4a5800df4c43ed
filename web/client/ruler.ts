// One quantity of all launches on one axis, drawn row by row: the rulings of the rows join into one sheet of paper,
// and each launch's interval is a stroke of the pen on it.

import { svg } from "./draw";
import { unit } from "./numbers";
import type { Card, Chief } from "./types";

// From SI to the units numbers are shown in. Source: NIST SP 811 (2008), appendix B.8.
const factors: Record<string, number> = { ms: 1e3, mph: 1 / 0.44704, "km/h": 3.6, "ft/s": 1 / 0.3048, g: 1 / 9.80665, ft: 1 / 0.3048 };

/** The quantity a chief number belongs to: launches asked at different speeds are not put on one axis. */
export const quantity = (c: Chief) => (c.id === "peak_acceleration" ? "peak acceleration" : c.label);

/** The quantities there are, the one most launches have first. */
export function quantities(cards: Card[]): string[] {
  const count = new Map<string, number>();
  for (const card of cards) for (const q of new Set(card.chief.map(quantity))) count.set(q, (count.get(q) ?? 0) + 1);
  return [...count.keys()].sort((a, b) => count.get(b)! - count.get(a)!);
}

export interface Ruler {
  quantity: string;
  unit: string;
  from: number; // in the unit
  to: number;
  ticks: number[];
  scale: number; // from SI to the unit
}

/** An axis that holds the intervals of one quantity; null where no launch has it. */
export function ruler(cards: Card[], of: string): Ruler | null {
  const chiefs = cards.flatMap((c) => c.chief.filter((k) => quantity(k) === of));
  if (chiefs.length === 0) return null;
  const symbol = /[^\d\s.,]+\S*$/.exec(chiefs[0].text)?.[0] ?? "";
  const scale = factors[symbol] ?? 1;
  const low = Math.min(...chiefs.map((c) => c.low)) * scale;
  const high = Math.max(...chiefs.map((c) => c.high)) * scale;
  const room = (high - low || Math.abs(high) || 1) * 0.08;
  const step = nice((high - low + 2 * room) / 5);
  const from = Math.floor((low - room) / step) * step;
  const to = Math.ceil((high + room) / step) * step;
  const ticks: number[] = [];
  for (let k = 0; from + k * step <= to + step / 2; k++) ticks.push(Number((from + k * step).toPrecision(12)));
  return { quantity: of, unit: unit(symbol), from, to, ticks, scale };
}

/** The next of 1, 2, 5 times a power of ten. */
function nice(x: number): number {
  const p = 10 ** Math.floor(Math.log10(x));
  return p * ([1, 2, 5].find((m) => m * p >= x * 0.999) ?? 10);
}

const at = (r: Ruler, v: number) => (100 * (v - r.from)) / (r.to - r.from);

function rulings(r: Ruler): SVGElement[] {
  const fine = r.ticks.slice(0, -1).flatMap((t) => [1, 2, 3, 4].map((k) => t + (k / 5) * (r.ticks[1] - r.ticks[0])));
  const lines = (list: number[], name: string) =>
    list.map((t) => svg("line", { class: name, x1: `${at(r, t)}%`, x2: `${at(r, t)}%`, y1: "0", y2: "100%" }));
  return [...lines(fine, "fine"), ...lines(r.ticks, "tick")];
}

/** The head of the sheet: the tick labels. */
export function rulerHead(r: Ruler): SVGElement {
  const every = r.ticks.length > 7 ? 2 : 1;
  const labels = r.ticks.map((t, i) =>
    i % every || i === 0 || i === r.ticks.length - 1 ? null : svg("text", { x: `${at(r, t)}%`, y: "80%", "text-anchor": "middle" }, String(t).replace("-", "−")),
  );
  return svg("svg", { class: "ruler", "aria-hidden": "true" }, ...labels);
}

/** One launch's row of the sheet. The numbers stand beside it, so screen readers skip it. */
export function rulerRow(r: Ruler | null, card: Card): SVGElement {
  const box = svg("svg", { class: "ruler", "aria-hidden": "true" });
  if (!r) return box;
  box.append(...rulings(r));
  card.chief.forEach((c, i) => {
    if (quantity(c) !== r.quantity) return;
    // Each stroke lies in line with its number; where the sheet is below the numbers, lanes lie one below the other.
    const marks = svg("g", { class: "marks" });
    marks.style.setProperty("--row", String(i));
    marks.style.setProperty("--lane", String(c.lane - 1));
    const x = `${at(r, c.value * r.scale)}%`;
    marks.append(
      svg("line", { class: `reach pen${c.lane}`, x1: `${at(r, c.low * r.scale)}%`, x2: `${at(r, c.high * r.scale)}%` }),
      svg("circle", { class: `place pen${c.lane}`, cx: x, r: 4 }),
    );
    if (several(card)) marks.append(svg("text", { class: "lane", x: `${at(r, c.high * r.scale)}%`, dx: "0.5em", dy: "0.35em" }, String(c.lane)));
    box.append(marks);
  });
  return box;
}

const several = (card: Card) => card.chief.some((c) => c.lane !== card.chief[0].lane);
