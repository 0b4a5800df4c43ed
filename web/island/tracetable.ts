// The trace as a table: for those who cannot see the curves, and for those who want the figures.

import { el } from "../client/draw";
import type { Model } from "./model";
import { coverage, factorOf, plain, placesOf, printed, unitOf } from "./reading";

export class TraceTable {
  readonly box = el("details", { class: "trace-table" }, el("summary", {}, "The trace in figures"));
  private stale = true;

  constructor(private m: Model) {
    this.box.addEventListener("toggle", () => this.fill());
  }

  renew() {
    this.stale = true;
    this.fill();
  }

  /** Written only where it is looked at: it may be thousands of lines long. */
  private fill() {
    if (!this.box.open || !this.stale || !this.m.ready) return;
    this.stale = false;
    const { m } = this;
    const u = m.units;
    const [length, speed, pull] = [factorOf(u, "length"), factorOf(u, "speed"), factorOf(u, "acceleration")];
    const head = ["Frame", `ms from ${m.zeroWords}`, "x, px", "y, px", `Height, ${printed(unitOf(u, "length"))}`, "±", `Speed, ${printed(unitOf(u, "speed"))}`, "±", `Acceleration, ${printed(unitOf(u, "acceleration"))}`, "±", "Found"];
    const body = el("tbody", {});
    const { trace, dropped } = m.lane;
    const middle = trace[Math.floor(trace.length / 2)];
    const at = middle && m.motion(middle.frame);
    const places = { h: placesOf(coverage * (middle?.u_height ?? 0) * length), s: placesOf(coverage * (at?.u_speed ?? 0) * speed), a: placesOf(coverage * (at?.u_acceleration ?? 0) * pull) };
    for (const p of trace) {
      const s = m.motion(p.frame);
      const cells = [
        plain((p.t - m.zero) * 1e3, 3),
        plain(p.x, 2),
        plain(p.y, 2),
        plain(p.height * length, places.h),
        plain(coverage * p.u_height * length, places.h),
        s ? plain(s.speed * speed, places.s) : "",
        s ? plain(coverage * s.u_speed * speed, places.s) : "",
        s ? plain(s.acceleration * pull, places.a) : "",
        s ? plain(coverage * s.u_acceleration * pull, places.a) : "",
        p.source,
      ];
      body.append(el("tr", {}, el("th", { scope: "row" }, String(p.frame)), ...cells.map((c) => el("td", {}, c))));
    }
    const table = el("table", {}, el("caption", {}, `Trace of ${m.lane.name}; ± is half of the 95 % interval`), el("thead", {}, el("tr", {}, ...head.map((h) => el("th", { scope: "col" }, h)))), body);
    const lost = dropped.length > 0 && el("p", {}, `Not found in ${dropped.length === 1 ? "frame" : "frames"} ${dropped.map((d) => d.frame).join(", ")}.`);
    this.box.querySelector(".scrolled")?.remove();
    this.box.append(el("div", { class: "scrolled", tabindex: 0, role: "region", "aria-label": "Trace in figures" }, lost, table));
  }
}
