// Every answer as a row of intervals on one scale, with what the launches' answers are to each other in sentences.

import { el, svg } from "../client/draw";
import { column, figure, unit, widths } from "../client/numbers";
import { CompareRow, strokeOf } from "./compareview";
import { plain } from "./reading";
import { rulings } from "./span";

/** How far apart the launches' strokes lie, px. */
const lane = 26;

export function compareRow(row: CompareRow): HTMLElement | null {
  const there = row.each.filter((e) => e.value !== null);
  if (there.length === 0) return null;
  const pairs = el("div", { class: "pairs" });
  // With few launches every pair is said at once; many would bury the picture.
  const sentences = row.ratios.map((_, i) => el("li", {}, ...pairSentence(row, i)));
  if (sentences.length > 0) pairs.append(sentences.length <= 3 ? el("ul", {}, ...sentences) : el("details", {}, el("summary", {}, `All ${sentences.length} ratios`), el("ul", {}, ...sentences)));
  return el("section", { class: "answer" }, el("h3", {}, unit(row.label)), el("div", { class: "row" }, numbers(row), strokes(row)), pairs);
}

function numbers(row: CompareRow): HTMLElement {
  const parts = row.each.map((e) => (e.value === null ? null : figure(`${e.text}`)));
  const w = widths(parts);
  const list = el("ol", { class: "numbers" });
  row.each.forEach((e, i) => {
    const part = parts[i];
    list.append(
      el(
        "li",
        {},
        el("span", { class: `lane pen${strokeOf(i + 1).pen + 1}` }, String(i + 1)),
        part ? el("span", { class: "value" }, column(part, true)) : el("span", { class: "faint" }, e.text),
        e.value !== null && el("span", { class: "faint figures" }, e.interval_text),
      ),
    );
  });
  list.style.setProperty("--whole", `${w.whole}ch`);
  list.style.setProperty("--part", w.part ? `${w.part - 0.5}ch` : "0");
  return list;
}

/** The intervals, each a stroke with its value as an upright tick; the numbers stand beside them, so they are not read out. */
function strokes(row: CompareRow): SVGElement {
  const there = row.each.filter((e) => e.value !== null);
  const low = Math.min(...there.map((e) => e.low!));
  const high = Math.max(...there.map((e) => e.high!));
  const room = 0.08 * (high - low || Math.abs(high) || 1);
  const [from, to] = [low - room, high + room];
  const x = (value: number) => `${(100 * (value - from)) / (to - from)}%`;
  const height = row.each.length * lane;
  const { at, places } = rulings(from, to, 5);
  const box = svg("svg", { class: "strokes", height: height + 20, "aria-hidden": "true" });
  for (const t of rulings(from, to, 25).at) box.append(svg("line", { class: "fine", x1: x(t), x2: x(t), y1: 0, y2: height }));
  for (const t of at) box.append(svg("line", { class: "tick", x1: x(t), x2: x(t), y1: 0, y2: height }), svg("text", { x: x(t), y: height + 15, "text-anchor": "middle" }, plain(t, places)));
  row.each.forEach((e, i) => {
    if (e.value === null) return;
    const y = (i + 0.5) * lane;
    const { pen, dash } = strokeOf(i + 1);
    box.append(
      svg("line", { class: `reach pen${pen + 1} dash${dash}`, x1: x(e.low!), x2: x(e.high!), y1: y, y2: y }),
      svg("line", { class: `best pen${pen + 1}`, x1: x(e.value), x2: x(e.value), y1: y - 7, y2: y + 7 }),
      svg("text", { class: "number", x: x(e.high!), dx: 6, y: y + 4 }, String(i + 1)),
    );
  });
  return box;
}

function pairSentence(row: CompareRow, i: number): string[] {
  const p = row.ratios[i];
  const d = row.differences.find((one) => one.of === p.of && one.to === p.to);
  const o = row.odds.find((one) => (one.first === p.of && one.second === p.to) || (one.first === p.to && one.second === p.of));
  const signed = (s: string) => unit(s).replace(/(^|\s)-(?=\d)/g, "$1−");
  const out = [`${p.of} against ${p.to}: ${p.text}`];
  if (d) out.push(`; ${d.value < 0 ? "" : "+"}${signed(d.text)}`);
  if (o) {
    const less = o.first === p.of ? o.probability : 1 - o.probability;
    out.push(`. Odds that ${less > 0.5 ? p.of : p.to} is the smaller: ${percent(Math.max(less, 1 - less))}`);
  }
  return [...out, "."];
}

/** A probability, without a certainty that draws cannot give. */
const percent = (p: number) => (p > 0.999 ? "more than 99.9 %" : `${(100 * p).toFixed(1)} %`);
