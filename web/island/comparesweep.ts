// What launches that differ in one condition, or repeat each other, say together.

import { el, svg } from "../client/draw";
import { figure, unit, upper } from "../client/numbers";
import type { CompareView, CurvePoint, Repeats, SweepLine } from "./compareview";
import { fromSI, placesOf, plain, unitOf, Units } from "./reading";
import { rulings } from "./span";

const width = 640;
const height = 300;
const edge = { left: 64, right: 12, top: 8, bottom: 46 };

/** Units in which conditions are usually written, with what SI is multiplied by. */
const usual: Record<string, [unit: string, factor: number]> = { m3: ["mL", 1e6], Pa: ["bar", 1e-5], kg: ["g", 1e3] };

/** The line with its numbers in the reader's units. */
function inUnits(line: SweepLine, u: Units): SweepLine {
  const [key_unit, across] = usual[line.key_unit] ?? [line.key_unit, 1];
  const of: Record<string, string> = { s: "ms", "m/s": unitOf(u, "speed"), "m/s2": unitOf(u, "acceleration") };
  const shown = of[line.unit] ?? line.unit;
  const up = fromSI(shown);
  const point = (p: CurvePoint): CurvePoint => ({ at: p.at * across, value: p.value * up, low: p.low * up, high: p.high * up });
  const [low, high] = line.optimum_interval95;
  return { ...line, key_unit, unit: shown, points: line.points.map(point), curve: line.curve.map(point), optimum: line.optimum * across, optimum_interval95: [low * across, high * across] };
}

/** One answer over the condition: the launches with their intervals, the curve with its band, the best with its interval. */
export function sweepPicture(si: SweepLine, u: Units): HTMLElement {
  const line = inUnits(si, u);
  const all = [...line.points, ...line.curve];
  const [x0, x1] = spread(all.map((p) => p.at));
  const [y0, y1] = spread(all.flatMap((p) => [p.low, p.high]));
  const x = (v: number) => edge.left + ((v - x0) / (x1 - x0)) * (width - edge.left - edge.right);
  const y = (v: number) => edge.top + ((y1 - v) / (y1 - y0)) * (height - edge.top - edge.bottom);
  const words = sweepWords(line);
  const box = svg("svg", { class: "sweep", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
  const foot = height - edge.bottom;
  const across = rulings(x0, x1, 6);
  const up = rulings(y0, y1, 5);
  for (const t of across.at) box.append(svg("line", { class: "tick", x1: x(t), x2: x(t), y1: edge.top, y2: foot }), svg("text", { x: x(t), y: foot + 17, "text-anchor": "middle" }, plain(t, across.places)));
  for (const t of up.at) box.append(svg("line", { class: "tick", x1: edge.left, x2: width - edge.right, y1: y(t), y2: y(t) }), svg("text", { x: edge.left - 8, y: y(t) + 4, "text-anchor": "end" }, plain(t, up.places)));
  const band = [...line.curve.map((p) => `${x(p.at)},${y(p.high)}`), ...line.curve.toReversed().map((p) => `${x(p.at)},${y(p.low)}`)].join(" ");
  const [b0, b1] = line.optimum_interval95;
  box.append(
    svg("polygon", { class: "band", points: band }),
    svg("polyline", { class: "curve", points: line.curve.map((p) => `${x(p.at)},${y(p.value)}`).join(" ") }),
    svg("line", { class: "best-at", x1: x(b0), x2: x(b1), y1: foot - 5, y2: foot - 5 }),
    svg("line", { class: "best-at upright", x1: x(line.optimum), x2: x(line.optimum), y1: foot - 14, y2: foot + 4 }),
    svg("text", { x: width - edge.right, y: height - 6, "text-anchor": "end" }, `${line.key.replaceAll("_", " ")}, ${unit(line.key_unit)}`),
  );
  for (const p of line.points) {
    box.append(svg("line", { class: "reach", x1: x(p.at), x2: x(p.at), y1: y(p.low), y2: y(p.high) }), svg("line", { class: "reach", x1: x(p.at) - 6, x2: x(p.at) + 6, y1: y(p.value), y2: y(p.value) }));
  }
  return el("figure", {}, el("figcaption", {}, el("strong", {}, `${upper(unit(line.label))}, in ${unit(line.unit)}. `), words), box);
}

function sweepWords(line: SweepLine): string {
  const [low, high] = line.optimum_interval95;
  if (high <= low) return `Best at the end of what was flown, ${line.key.replaceAll("_", " ")} ${Number(line.optimum.toPrecision(4))} ${unit(line.key_unit)}, and perhaps beyond.`;
  const places = placesOf((high - low) / 2);
  const beyond = line.optimum_may_lie_outside ? ", and perhaps beyond what was flown" : "";
  return `Best at ${line.key.replaceAll("_", " ")} ${plain(line.optimum, places)} ${unit(line.key_unit)}, between ${plain(low, places)} and ${plain(high, places)}${beyond}.`;
}

function spread(list: number[]): [number, number] {
  const [low, high] = [Math.min(...list), Math.max(...list)];
  const room = 0.06 * (high - low || Math.abs(high) || 1);
  return [low - room, high + room];
}

/** The mean of launches like these, and how much they differ. */
export function repeatsTable(v: CompareView): HTMLElement | null {
  if (v.repeats.length === 0) return null;
  const head = ["Mean of launches like these", "Value", "95 % interval", "Launches differ by", "Measuring by"];
  const row = (r: Repeats) => {
    const n = r.outlier !== undefined && el("span", { class: "warn" }, ` Launch ${r.outlier} stands apart: look at it again.`);
    // Standard deviations come in SI; they are shown in the unit of the mean beside them.
    const shown = figure(r.text)?.unit ?? unit(r.unit);
    const sd = (x: number) => `${Number((x * fromSI(shown)).toPrecision(2))} ${shown}`;
    return el("tr", {}, el("th", { scope: "row" }, unit(r.label), n), el("td", {}, unit(r.text)), el("td", {}, unit(r.interval_text)), el("td", {}, sd(r.between_launches_sd)), el("td", {}, sd(r.measuring_sd)));
  };
  return el(
    "div",
    { class: "scrolled", tabindex: 0, role: "region", "aria-label": "Repeats" },
    el("table", { class: "repeats" }, el("caption", {}, "Repeats; the last two columns are standard deviations"), el("thead", {}, el("tr", {}, ...head.map((h) => el("th", { scope: "col" }, h)))), el("tbody", {}, ...v.repeats.map(row))),
  );
}
