// Drawings of a fitted flight: measured and fitted motion on one axis of time, and what the model has over an input.

import { svg } from "../client/draw";
import { unit } from "../client/numbers";
import type { Curve, Sheet } from "./flightview";
import { plain } from "./reading";
import { rulings } from "./span";

const left = 58;
const right = 10;

interface Panel {
  label: string;
  unit: string;
  height: number;
  factor: number;
  dots?: { t: number; y: number; half: number }[];
  band?: { t: number; y: number; half: number }[];
  line?: { t: number; y: number }[];
  zero?: boolean;
}

/** Half of a 95 % interval in standard uncertainties. */
const wide = 1.96;

function panels(s: Sheet): Panel[] {
  const seen = s.measured.filter((m) => m.t >= 0);
  const last = seen.at(-1)?.t ?? 0;
  const fitted = s.history.filter((h) => h.t >= 0 && h.t <= last);
  const of = (key: "height" | "speed" | "acceleration" | "thrust") => fitted.map((h) => ({ t: h.t, y: h[key] }));
  const measured = (key: "speed" | "acceleration" | "thrust", u: "u_speed" | "u_acceleration" | "u_thrust") => seen.map((m) => ({ t: m.t, y: m[key], half: wide * m[u] }));
  const frames = s.residuals.map((r) => ({ ...r, t: r.t - s.first_motion_s }));
  return [
    { label: "height", unit: "m", factor: 1, height: 170, dots: frames.map((r) => ({ t: r.t, y: r.height, half: 0 })), line: of("height") },
    { label: "speed", unit: "m/s", factor: 1, height: 150, band: measured("speed", "u_speed"), line: of("speed") },
    { label: "acceleration", unit: "m/s2", factor: 1, height: 150, band: measured("acceleration", "u_acceleration"), line: of("acceleration") },
    { label: "thrust", unit: "N", factor: 1, height: 150, band: measured("thrust", "u_thrust"), line: of("thrust") },
    { label: "height less the model", unit: "mm", factor: 1e3, height: 110, zero: true, dots: frames.map((r) => ({ t: r.t, y: r.residual, half: wide * r.u })) },
  ];
}

/** Measured and fitted motion, panel under panel on one axis of time, phases shaded. */
export function flightPicture(s: Sheet, width: number, words: string): SVGElement {
  const list = panels(s);
  const frames = s.residuals.map((r) => r.t - s.first_motion_s);
  const [t0, t1] = [Math.max(frames[0], -0.08 * frames.at(-1)!), frames.at(-1)!];
  const x = (t: number) => left + ((t - t0) / (t1 - t0)) * (width - left - right);
  const top = 26;
  const gap = 30;
  const total = top + list.reduce((sum, p) => sum + p.height + gap, 0) + 20;
  const box = svg("svg", { class: "stack", width, height: total, viewBox: `0 0 ${width} ${total}`, role: "img", "aria-label": words });
  const foot = total - 20 - gap;
  s.phases.forEach((p, i) => {
    const [a, b] = [Math.max(p.from_s, t0), Math.min(p.to_s, t1)];
    if (b <= a) return;
    box.append(svg("rect", { class: i % 2 ? "phase other" : "phase", x: x(a), width: x(b) - x(a), y: top, height: foot - top }));
    if (x(b) - x(a) > 7 * p.name.length) box.append(svg("text", { class: "name", x: (x(a) + x(b)) / 2, y: top - 9, "text-anchor": "middle" }, p.name));
  });
  const across = rulings(t0 * 1e3, t1 * 1e3, width / 110);
  let y0 = top;
  for (const p of list) {
    for (const t of across.at) box.append(svg("line", { class: "tick", x1: x(t / 1e3), x2: x(t / 1e3), y1: y0, y2: y0 + p.height }));
    drawPanel(box, p, x, t0, t1, y0, width);
    y0 += p.height + gap;
  }
  for (const t of across.at) box.append(svg("text", { x: x(t / 1e3), y: foot + 18, "text-anchor": "middle" }, plain(t, across.places)));
  box.append(svg("text", { x: width - right, y: foot + 38, "text-anchor": "end" }, "ms from first motion"));
  return box;
}

function drawPanel(box: SVGElement, p: Panel, x: (t: number) => number, t0: number, t1: number, top: number, width: number) {
  const inside = (q: { t: number }) => q.t >= t0 && q.t <= t1;
  const band = (p.band ?? []).filter(inside);
  const dots = (p.dots ?? []).filter(inside);
  const line = (p.line ?? []).filter(inside);
  // Bands at the ends may be many times as wide as what is shown: they do not stretch the axis.
  const values = [...line.map((q) => q.y), ...band.map((q) => q.y), ...dots.flatMap((q) => [q.y - q.half, q.y + q.half]), ...(p.zero ? [0] : [])].map((v) => v * p.factor);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = 0.08 * (high - low || 1);
  const [from, to] = [low - room, high + room];
  const y = (v: number) => top + p.height * (1 - Math.min(1, Math.max(0, (v * p.factor - from) / (to - from))));
  const up = rulings(from, to, p.height / 40);
  for (const v of up.at) {
    box.append(svg("line", { class: "tick", x1: left, x2: width - right, y1: y(v / p.factor), y2: y(v / p.factor) }), svg("text", { x: left - 7, y: y(v / p.factor) + 5, "text-anchor": "end" }, plain(v, up.places)));
  }
  if (band.length > 1) {
    const edge = [...band.map((q) => `${x(q.t)},${y(q.y + q.half)}`), ...band.toReversed().map((q) => `${x(q.t)},${y(q.y - q.half)}`)];
    box.append(svg("polygon", { class: "seen-band", points: edge.join(" ") }), svg("polyline", { class: "seen", points: band.map((q) => `${x(q.t)},${y(q.y)}`).join(" ") }));
  }
  for (const q of dots) {
    if (q.half > 0) box.append(svg("line", { class: "reach", x1: x(q.t), x2: x(q.t), y1: y(q.y - q.half), y2: y(q.y + q.half) }));
    box.append(svg("circle", { class: "dot", cx: x(q.t), cy: y(q.y), r: 1.8 }));
  }
  if (p.zero) box.append(svg("line", { class: "fitted", x1: left, x2: width - right, y1: y(0), y2: y(0) }));
  if (line.length > 1) box.append(svg("polyline", { class: "fitted", points: line.map((q) => `${x(q.t)},${y(q.y)}`).join(" ") }));
  box.append(svg("text", { class: "label", x: left + 6, y: top + 15 }, `${p.label}, ${unit(p.unit)}`));
}

/** Units in which inputs are usually written, with what SI is multiplied by. */
const usual: Record<string, [unit: string, factor: number]> = { m3: ["mL", 1e6], Pa: ["bar", 1e-5], kg: ["g", 1e3] };

/** What the fitted model has for one answer over an input, with its band, its best, and where this launch stood. */
export function curvePicture(c: Curve, key: string, keyUnit: string, stated: number, width: number, words: string): SVGElement {
  const [name, factor] = usual[keyUnit] ?? [keyUnit, 1];
  const height = 230;
  const foot = height - 44;
  const ats = c.points.map((p) => p.at * factor);
  const [x0, x1] = [Math.min(...ats), Math.max(...ats)];
  const values = c.points.flatMap((p) => [p.low, p.high]);
  const room = 0.05 * (Math.max(...values) - Math.min(...values) || 1);
  const [y0, y1] = [Math.min(...values) - room, Math.max(...values) + room];
  const x = (v: number) => left + ((v * factor - x0) / (x1 - x0)) * (width - left - right);
  const y = (v: number) => 8 + ((y1 - v) / (y1 - y0)) * (foot - 8);
  const box = svg("svg", { class: "stack", width, height, viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
  const across = rulings(x0, x1, width / 100);
  const up = rulings(y0, y1, 5);
  for (const v of across.at) box.append(svg("line", { class: "tick", x1: x(v / factor), x2: x(v / factor), y1: 8, y2: foot }), svg("text", { x: x(v / factor), y: foot + 17, "text-anchor": "middle" }, plain(v, across.places)));
  for (const v of up.at) box.append(svg("line", { class: "tick", x1: left, x2: width - right, y1: y(v), y2: y(v) }), svg("text", { x: left - 7, y: y(v) + 5, "text-anchor": "end" }, plain(v, up.places)));
  const edge = [...c.points.map((p) => `${x(p.at)},${y(p.high)}`), ...c.points.toReversed().map((p) => `${x(p.at)},${y(p.low)}`)];
  box.append(svg("polygon", { class: "fitted-band", points: edge.join(" ") }), svg("polyline", { class: "fitted", points: c.points.map((p) => `${x(p.at)},${y(p.value)}`).join(" ") }));
  if (!c.at_end) {
    const [a, b] = c.optimum_interval95;
    box.append(svg("line", { class: "best-at", x1: x(a), x2: Math.max(x(b), x(a) + 1), y1: foot - 5, y2: foot - 5 }), svg("line", { class: "best-at upright", x1: x(c.optimum), x2: x(c.optimum), y1: foot - 16, y2: foot + 4 }));
  }
  if (stated * factor >= x0 && stated * factor <= x1) box.append(svg("line", { class: "stated", x1: x(stated), x2: x(stated), y1: 8, y2: foot }), svg("text", { x: x(stated) + 5, y: foot - 24 }, "flown"));
  box.append(svg("text", { x: width - right, y: height - 6, "text-anchor": "end" }, `${key.replaceAll("_", " ")}, ${name}`));
  return box;
}
