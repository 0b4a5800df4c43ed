// The side view of a shoot, to scale: the camera, what it sees of the flight line, the rod, the vehicle, and where its nose is in each frame.

import { svg } from "../client/draw";
import { plain } from "./reading";
import { rulings } from "./span";
import type { Option, Place } from "./planview";

/** Draws it so many pixels wide, on one scale in both directions. */
export function sideView(p: Place, o: Option, width: number): SVGElement {
  const rod = p.rod_range_m ?? p.range_m;
  const far = Math.max(p.range_m, rod);
  const front = (way: number) => p.front_m + (p.falls ? -way : way);
  const back = p.falls ? p.front_m + p.vehicle_m : p.front_m - p.vehicle_m;
  const top = Math.min(Math.max(o.view_high_m ?? 0, front(0), back, ...o.ways_m.map(front), p.rod_m, p.lens_m) * 1.06, 3 * far);
  const bottom = Math.min(o.view_low_m, 0) - 0.05 * top;
  const margin = { left: 20, right: 46, top: 10, bottom: 44 };
  const [from, to] = [-0.06 * far, far * 1.04];
  const scale = Math.min((width - margin.left - margin.right) / (to - from), 420 / (top - bottom));
  const height = (top - bottom) * scale + margin.top + margin.bottom;
  const x = (m: number) => margin.left + (m - from) * scale;
  const y = (m: number) => margin.top + (top - m) * scale;
  const box = svg("svg", { class: "side", viewBox: `0 0 ${width} ${Math.ceil(height)}`, role: "img" });
  box.setAttribute("aria-label", `Side view: the camera ${plain(p.range_m, 1)} m from the flight line sees it from ${plain(o.view_low_m, 1)} m to ${o.view_high_m === null ? "the zenith" : `${plain(o.view_high_m, 1)} m`} above the ground.`);
  const add = (tag: string, kind: string, at: Record<string, number | string>, ...inside: string[]) => box.append(svg(tag, { class: kind, ...at }, ...inside));
  const heights = rulings(Math.max(bottom, 0), top, (y(Math.max(bottom, 0)) - y(top)) / 42);
  for (const h of heights.at) {
    add("line", "tick", { x1: x(from), x2: x(to), y1: y(h), y2: y(h) });
    add("text", "scale", { x: x(to) + 6, y: y(h) + 4 }, h === heights.at.at(-1) ? `${plain(h, heights.places)} m` : plain(h, heights.places));
  }
  const high = o.view_high_m ?? top;
  add("polygon", "seen", { points: `${x(0)},${y(p.lens_m)} ${x(p.range_m)},${y(o.view_low_m)} ${x(p.range_m)},${y(Math.min(high, top))}` });
  add("line", "ground", { x1: x(from), x2: x(to), y1: y(0), y2: y(0) });
  add("line", "flightline", { x1: x(p.range_m), x2: x(p.range_m), y1: y(0), y2: y(top) });
  if (p.rod_range_m !== null) add("line", "rod", { x1: x(rod), x2: x(rod), y1: y(0), y2: y(p.rod_m) });
  add("line", "vehicle", { x1: x(p.range_m), x2: x(p.range_m), y1: y(back), y2: y(front(0)) });
  for (const w of o.ways_m) add("circle", "nose", { cx: x(p.range_m), cy: y(front(w)), r: 2.5 });
  box.append(svg("g", { transform: `translate(${x(0)} ${y(p.lens_m)}) rotate(${(-o.tilt_rad * 180) / Math.PI})` }, svg("rect", { class: "camera", x: -16, y: -7, width: 16, height: 14 }), svg("rect", { class: "camera", x: 0, y: -4, width: 6, height: 8 })));
  add("line", "stand", { x1: x(-0.0), x2: x(-0.0), y1: y(p.lens_m) + 7, y2: y(0) });
  add("text", "scale", { x: (x(0) + x(p.range_m)) / 2, y: y(0) + 16, "text-anchor": "middle" }, `${plain(p.range_m, 1)} m`);
  const low = Math.max(y(bottom) + 12, y(0) + 26);
  if (p.stand_off_m !== null) {
    add("line", "keep", { x1: x(Math.max(from, p.range_m - p.stand_off_m)), x2: x(to), y1: low, y2: low });
    add("text", "keep-words", { x: x(p.range_m), y: low + 16, "text-anchor": "end" }, `nobody within ${plain(p.stand_off_m, 1)} m of the vehicle`);
  }
  return box;
}
