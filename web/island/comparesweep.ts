// What launches that differ in one condition, or repeat each other, say together.

import { el, svg } from "../client/draw";
import { figure, unit, upper } from "../client/numbers";
import type { CompareModel, CompareView, CurvePoint, ModelCurve, Repeats, SweepLine } from "./compareview";
import { fromSI, placesOf, plain, unitOf, Units } from "./reading";
import { rulings } from "./span";

const widest = 640;
const edge = { left: 64, right: 12, top: 8, bottom: 46 };

/** Units in which conditions are usually written, with what SI is multiplied by. */
const usual: Record<string, [unit: string, factor: number]> = { m3: ["mL", 1e6], Pa: ["bar", 1e-5], kg: ["g", 1e3] };

type Drawn = Pick<SweepLine, "optimum" | "optimum_interval95"> & { points: CurvePoint[] };

/** Numbers in the reader's units, of a line or of the model's curve. */
function readers(line: SweepLine, u: Units) {
  const [key_unit, across] = usual[line.key_unit] ?? [line.key_unit, 1];
  const of: Record<string, string> = { s: "ms", "m/s": unitOf(u, "speed"), "m/s2": unitOf(u, "acceleration") };
  const shown = of[line.unit] ?? line.unit;
  const up = fromSI(shown);
  const point = (p: CurvePoint): CurvePoint => ({ at: p.at * across, value: p.value * up, low: p.low * up, high: p.high * up });
  const curve = (c: Drawn): Drawn => ({ points: c.points.map(point), optimum: c.optimum * across, optimum_interval95: [c.optimum_interval95[0] * across, c.optimum_interval95[1] * across] });
  return { key_unit, unit: shown, point, curve };
}

/** The model's curve of the same answer, as far as a little beyond what was flown; null where it has none. */
function modelled(line: SweepLine, m: CompareModel | null): ModelCurve | null {
  const curve = m?.model?.curves.find((c) => c.id === line.id && c.speed === line.speed && c.height === line.height);
  if (!curve) return null;
  const at = line.points.map((p) => p.at);
  const [low, high] = spread(at);
  return { ...curve, points: curve.points.filter((p) => p.at >= low && p.at <= high) };
}

/** One answer over the condition: the launches with their intervals, a smooth curve and the flight model's with their bands, the best of either with its interval. */
export function sweepPicture(si: SweepLine, m: CompareModel | null, u: Units): HTMLElement {
  const width = Math.min(widest, document.getElementById("compare")!.clientWidth || widest);
  const height = width < 480 ? 240 : 300;
  const to = readers(si, u);
  const smooth = to.curve({ points: si.curve, optimum: si.optimum, optimum_interval95: si.optimum_interval95 });
  const line = { ...si, key_unit: to.key_unit, unit: to.unit, points: si.points.map(to.point), ...{ optimum: smooth.optimum, optimum_interval95: smooth.optimum_interval95 } };
  const found = modelled(si, m);
  const model = found && to.curve(found);
  const all = [...line.points, ...smooth.points, ...(model?.points ?? [])];
  const [x0, x1] = spread(all.map((p) => p.at));
  const [y0, y1] = spread(all.flatMap((p) => [p.low, p.high]));
  const x = (v: number) => edge.left + ((v - x0) / (x1 - x0)) * (width - edge.left - edge.right);
  const y = (v: number) => edge.top + ((y1 - v) / (y1 - y0)) * (height - edge.top - edge.bottom);
  const words = sweepWords(line) + (model && found ? ` ${modelWords(line, model, found.at_end)}` : "");
  const box = svg("svg", { class: "sweep", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
  const foot = height - edge.bottom;
  const across = rulings(x0, x1, width / 105);
  const up = rulings(y0, y1, 5);
  for (const t of across.at) box.append(svg("line", { class: "tick", x1: x(t), x2: x(t), y1: edge.top, y2: foot }), svg("text", { x: x(t), y: foot + 17, "text-anchor": "middle" }, plain(t, across.places)));
  for (const t of up.at) box.append(svg("line", { class: "tick", x1: edge.left, x2: width - edge.right, y1: y(t), y2: y(t) }), svg("text", { x: edge.left - 8, y: y(t) + 4, "text-anchor": "end" }, plain(t, up.places)));
  const draw = (c: Drawn, kind: string, low: number) => {
    const band = [...c.points.map((p) => `${x(p.at)},${y(p.high)}`), ...c.points.toReversed().map((p) => `${x(p.at)},${y(p.low)}`)].join(" ");
    const [b0, b1] = c.optimum_interval95.map((v) => Math.min(x1, Math.max(x0, v)));
    box.append(svg("polygon", { class: `band ${kind}`, points: band }), svg("polyline", { class: `curve ${kind}`, points: c.points.map((p) => `${x(p.at)},${y(p.value)}`).join(" ") }));
    if (c.optimum < x0 || c.optimum > x1) return;
    box.append(
      svg("line", { class: `best-at ${kind}`, x1: x(b0), x2: x(b1), y1: foot - low, y2: foot - low }),
      svg("line", { class: `best-at upright ${kind}`, x1: x(c.optimum), x2: x(c.optimum), y1: foot - low - 7, y2: foot - low + 7 }),
    );
  };
  draw(smooth, "smooth", 8);
  if (model && model.points.length > 1) draw(model, "model", 24);
  box.append(svg("text", { x: width - edge.right, y: height - 6, "text-anchor": "end" }, `${line.key.replaceAll("_", " ")}, ${unit(line.key_unit)}`));
  for (const p of line.points) {
    box.append(svg("line", { class: "reach", x1: x(p.at), x2: x(p.at), y1: y(p.low), y2: y(p.high) }), svg("line", { class: "reach", x1: x(p.at) - 6, x2: x(p.at) + 6, y1: y(p.value), y2: y(p.value) }));
  }
  return el("figure", {}, el("figcaption", {}, el("strong", {}, `${upper(unit(line.label))}, in ${unit(line.unit)}. `), words, model && key()), box);
}

/** Which stroke is which. */
function key(): HTMLElement {
  const stroke = (kind: string, text: string) => el("span", {}, svg("svg", { class: "sweep", width: 44, height: 10, "aria-hidden": "true" }, svg("line", { class: `curve ${kind}`, x1: 0, x2: 44, y1: 5, y2: 5 })), ` ${text}`);
  return el("span", { class: "strokes" }, stroke("smooth", "smooth curve through the launches"), stroke("model", "flight model"));
}

function modelWords(line: SweepLine, c: Drawn, atEnd: boolean): string {
  const [low, high] = c.optimum_interval95;
  const places = placesOf((high - low) / 2);
  if (atEnd || high <= low) return `By the flight model, best at the end of the range looked at, ${plain(c.optimum, places)} ${unit(line.key_unit)}.`;
  return `By the flight model, at ${plain(c.optimum, places)} ${unit(line.key_unit)}, between ${plain(low, places)} and ${plain(high, places)}.`;
}

/** What the model fitted to all launches has beside the curves. */
export function modelNote(m: CompareModel): HTMLElement | null {
  if (!m.model) return null;
  const file = m.model.flight_file;
  const line = (w: { label: string; text: string }) => el("li", {}, `${upper(unit(w.label))}: ${unit(w.text)}.`);
  if (!m.model.residual_test.fits) return el("p", {}, `The flight model of ${file} does not fit these launches: no curve is drawn from it.`);
  return el(
    "div",
    { class: "by-model" },
    el("p", {}, `By the flight model of ${file}, fitted to all launches together:`),
    el("ul", {}, ...m.best.map(line)),
    el("details", {}, el("summary", {}, "Inputs fitted"), el("ul", {}, ...m.fitted.map(line)), el("ul", { class: "faint" }, ...m.model.warnings.map((w) => el("li", {}, `${upper(unit(w.message))}.`)))),
  );
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
