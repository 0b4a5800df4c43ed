// What an interval is made of, as a bar: each source by its hatching as well as its ink, and named in words.

import { el } from "../client/draw";
import type { Answer } from "./view";

/** Sources in the order of their hatchings; any other gets the last. */
const sources = ["trace noise", "scale marks", "camera distance", "lean of the flight", "time base", "reference length", "camera tilt", "apparent size", "lens", "rolling shutter", "exposure", "frame times", "sources together"];

const hatching = (source: string) => `source${sources.indexOf(source) + 1}`;

/** Shares below this are not drawn: narrower than a stroke. */
const least = 0.005;

const percent = (share: number) => `${Math.round(100 * share)} %`;

/** The bar, and the largest source beside it. The whole budget is read out, and shown where it is asked for. */
export function budgetBar(a: Answer): HTMLElement {
  const list = (a.budget ?? []).filter((b) => b.share >= least);
  if (list.length === 0) return el("span", {});
  const all = list.map((b) => `${b.source} ${percent(b.share)}`).join(", ");
  const total = list.reduce((sum, b) => sum + b.share, 0);
  const bar = el("span", { class: "bar", role: "img", "aria-label": `share of the variance: ${all}`, title: all });
  for (const b of list) {
    const part = el("span", { class: hatching(b.source) });
    part.style.width = `${(100 * b.share) / Math.max(1, total)}%`;
    bar.append(part);
  }
  return el("span", { class: "budget" }, bar, el("span", { class: "most", "aria-hidden": "true" }, `${list[0].source} ${percent(list[0].share)}`));
}

/** Names the hatchings that occur. */
export function budgetLegend(answers: Answer[]): HTMLElement | null {
  const there = sources.filter((s) => answers.some((a) => a.budget?.some((b) => b.source === s && b.share >= least)));
  const others = [...new Set(answers.flatMap((a) => a.budget ?? []).filter((b) => b.share >= least && !sources.includes(b.source)).map((b) => b.source))];
  if (there.length + others.length === 0) return null;
  return el(
    "p",
    { class: "legend" },
    "What the intervals are made of: ",
    ...[...there, ...others].map((s) => el("span", { class: "entry-of" }, el("span", { class: `swatch ${hatching(s)}`, "aria-hidden": "true" }), s)),
  );
}
