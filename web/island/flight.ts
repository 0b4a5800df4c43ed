// The page of a launch's flight model: fitted to the trace, what it says of its inputs, what follows from it, and what it cannot say.

import { api, launchPath, watch } from "../client/desk";
import { el, svg } from "../client/draw";
import { unit, upper } from "../client/numbers";
import { over, show } from "../client/shell";
import { curvePicture, flightPicture } from "./flightchart";
import type { ModelLine, ModelView } from "./flightview";

const root = document.getElementById("flight")!;
const name = root.dataset.name!;
const path = `${launchPath(name)}/model`;
let view: ModelView;
let drawn = 0; // the width the pictures were drawn for

async function load() {
  view = await api<ModelView>("GET", path);
  render();
}

const chosen = new Set<string>();
let touched = false;

/** The button that fits, and which inputs the footage alone decides. */
function deeds(): HTMLElement {
  const busy = view.job !== null && !over(view.job);
  const fit = el("button", { type: "button", class: "primary", disabled: busy || view.problem !== null, click: () => api("POST", path, touched ? { free: [...chosen] } : {}).then(load).catch(show) }, view.sheet ? "Fit it again" : "Fit the model");
  if (!touched) for (const k of view.free) chosen.add(k);
  const boxes = view.fittable.map((k) => {
    const box = el("input", { type: "checkbox", id: `free-${k}`, checked: chosen.has(k), change: (e: Event) => {
      touched = true;
      if ((e.target as HTMLInputElement).checked) chosen.add(k);
      else chosen.delete(k);
    } });
    return el("li", {}, box, el("label", { for: `free-${k}` }, k.replaceAll("_", " ")));
  });
  const which = el("details", {}, el("summary", {}, "What the footage alone decides"), el("p", { class: "faint" }, "What is not ticked keeps to the flight file: exactly, or within the uncertainty it states. Nothing ticked by hand: what is usual for the vehicle."), el("ul", { class: "frees" }, ...boxes));
  return el("div", { class: "deeds" }, el("p", {}, fit, " ", busy && el("span", { class: "faint" }, "Fitting.")), view.fittable.length > 0 && which);
}

function verdict(): HTMLElement {
  const t = view.sheet!.residual_test;
  const mm = (m: number) => `${Number((1e3 * m).toPrecision(2))} mm`;
  const impossible = view.sheet!.impossible;
  if (impossible) return el("p", { class: "verdict warn" }, el("strong", {}, "The model does not fit. "), `Only an impossible flight comes near to what was filmed: it has ${unit(impossible)}. It is drawn to show where it goes wrong.`);
  if (!t.fits) return el("p", { class: "verdict warn" }, el("strong", {}, "The model does not fit. "), `Slow waves of ${mm(t.smooth_m)} stay in what it leaves over of ${t.frames} frames. Its numbers are withheld.`);
  return el("p", { class: "verdict" }, el("strong", {}, "The model fits. "), `It leaves over ${mm(t.noise_m)} a frame, in ${t.frames} frames.`);
}

function table(title: string, lines: ModelLine[], limits: boolean): HTMLElement | null {
  if (lines.length === 0) return null;
  const row = (l: ModelLine) => el("tr", {}, el("th", { scope: "row" }, upper(l.label)), el("td", { class: "value" }, unit(l.text)), el("td", {}, unit(l.interval_text)), limits && el("td", { class: "faint" }, l.limited_by));
  const head = ["", "Value", "95 % interval", ...(limits ? ["Limited most by"] : [])].map((h) => (h ? el("th", { scope: "col" }, h) : el("td", {})));
  return el("div", { class: "scrolled", tabindex: 0, role: "region", "aria-label": title }, el("table", {}, el("caption", {}, title), el("thead", {}, el("tr", {}, ...head)), el("tbody", {}, ...lines.map(row))));
}

/** A sample of a line, for a legend. */
const sample = (kind: string) => svg("svg", { class: "stack sample", width: 30, height: 12, "aria-hidden": "true" }, svg("line", { class: kind, x1: 1, x2: 29, y1: 6, y2: 6 }));

function phases(): HTMLElement {
  const ms = (s: number, other: number) => (Math.abs(other) < 1 ? `${(1e3 * s).toFixed(1)} ms` : `${s.toFixed(2)} s`);
  return el("ul", { class: "phases" }, ...view.sheet!.phases.map((p) => el("li", {}, el("strong", {}, upper(p.name)), ` until ${ms(p.to_s, p.to_s)}`, p.to_interval95 && el("span", { class: "faint" }, `, between ${ms(p.to_interval95[0], p.to_s)} and ${ms(p.to_interval95[1], p.to_s)}`))));
}

function list(title: string, lines: string[], kind: string): HTMLElement | null {
  return lines.length === 0 ? null : el("section", { class: kind, "aria-label": title }, el("h2", {}, title), el("ul", {}, ...lines.map((l) => el("li", {}, `${upper(unit(l))}.`))));
}

function render() {
  const s = view.sheet;
  const parts: (HTMLElement | null | false)[] = [];
  if (view.problem) parts.push(el("p", { class: "warn" }, `${upper(view.problem.message)}. ${upper(view.problem.hint)}.`));
  if (view.flight) parts.push(el("p", { class: "faint" }, `Flight file: ${view.flight}. The launch's own conditions stand for its inputs of the same name.`));
  if (!s && view.flight) parts.push(el("p", { class: "faint" }, "Fitted to the trace it says what the footage tells of the inputs, what it cannot tell apart, whether the model fits at all, and what this vehicle would reach."));
  parts.push(deeds());
  if (s) {
    if (view.stale) parts.push(el("p", { class: "warn" }, "Launch, setup or flight file have changed since this was fitted."));
    parts.push(verdict());
    if (s.water_inertia) parts.push(el("p", { class: "inertia" }, `${upper(unit(s.water_inertia.text))}.`));
    parts.push(el("figure", { class: "motion" }, el("figcaption", {}, sample("seen"), " measured, with its 95 % band; ", sample("fitted"), " the fitted model. Below: what the model leaves over, frame by frame."), el("div", { class: "paper" })));
    parts.push(phases());
    parts.push(table("What the footage says of the inputs", view.lines.filter((l) => l.fitted), true));
    parts.push(table("What follows", view.lines.filter((l) => !l.fitted), false));
    s.sweep?.curves.forEach((_, i) => parts.push(el("figure", { class: "swept" }, el("figcaption", {}, el("strong", {}, `${upper(view.best[i].label)}, in ${unit(s.sweep!.curves[i].unit)}. `), `${upper(unit(view.best[i].text))}.`), el("div", { class: "paper" }))));
    parts.push(list("Before anybody flies this", [...view.safety, ...(view.safety.length > 0 ? ["No pressure above half of the lowest published burst pressure of a drink bottle, 4.8 bar, is recommended here"] : [])], "safety"));
    parts.push(list("What is doubtful", view.doubts, "doubts"));
  }
  root.replaceChildren(...parts.filter((p): p is HTMLElement => Boolean(p)));
  drawn = 0;
  draw();
}

/** Draws the pictures for the width there is. */
function draw() {
  const s = view?.sheet;
  const width = Math.floor(root.clientWidth);
  if (!s || width === drawn || width === 0) return;
  drawn = width;
  root.querySelector(".motion .paper")?.replaceChildren(flightPicture(s, width, "Height, speed, acceleration and thrust, measured and by the fitted model, and what the model leaves over, over time"));
  root.querySelectorAll(".swept .paper").forEach((p, i) => p.replaceChildren(curvePicture(s.sweep!.curves[i], s.sweep!.key, s.sweep!.key_unit, s.sweep!.stated, Math.min(width, 640), view.best[i].text)));
}

new ResizeObserver(draw).observe(root);
watch((e) => {
  const mine = e.launch === name || e.job?.launch === name;
  if (mine && (e.kind === "model" || e.kind === "launch" || (e.kind === "job" && e.job && over(e.job)))) load().catch(show);
}, () => void load().catch(show));
load().catch(show);
