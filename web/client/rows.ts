// One launch as an entry of the logbook.

import { launchPath } from "./desk";
import { el } from "./draw";
import { column, ends, Figure, figure, unit, upper } from "./numbers";
import { Ruler, rulerRow } from "./ruler";
import { over, stageOf } from "./shell";
import type { Card, Chief, Job } from "./types";

const words: Record<Card["state"], string> = {
  measured: "",
  new: "not measured yet",
  stale: "edited since it was measured",
  measuring: "being measured",
  failed: "not measured",
  "footage-changed": "its footage has changed since it was measured",
  "footage-missing": "its footage is not where it was",
};

export interface RowActions {
  picked: (name: string) => boolean;
  pick: (name: string, on: boolean) => void;
  remove: (card: Card) => void;
  job: (name: string) => Job | undefined;
}

const page = (name: string) => `/launch/${encodeURIComponent(name)}`;

export function row(card: Card, r: Ruler | null, a: RowActions): HTMLLIElement {
  const title = card.title || card.name;
  const id = `pick-${card.name}`;
  const pick = el("input", { type: "checkbox", id, checked: a.picked(card.name), change: (e: Event) => a.pick(card.name, (e.target as HTMLInputElement).checked) });
  return el(
    "li",
    { class: "entry", "data-name": card.name },
    picture(card, title),
    el(
      "div",
      { class: "about" },
      el("h2", {}, el("a", { href: page(card.name) }, title)),
      el("p", { class: "facts" }, facts(card)),
      card.conditions.length > 0 && el("p", { class: "conditions" }, card.conditions.map((c) => whole(`${c.key.replaceAll("_", " ")} ${unit(c.text)}`)).join(" · ")),
      state(card, a.job(card.name)),
      el(
        "p",
        { class: "deeds" },
        el("label", { for: id, class: "pick" }, pick, " compare", el("span", { class: "spoken" }, " " + title)),
        el("button", { type: "button", class: "quiet", "aria-label": `Remove ${title}`, click: () => a.remove(card) }, "Remove"),
      ),
    ),
    numbers(card, title),
    rulerRow(r, card),
  );
}

function facts(card: Card): string {
  const name = card.vehicle && !card.title.includes(card.vehicle) ? card.vehicle : "";
  const film = card.frames > 0 ? `${card.frames} frames${card.rate_hz > 0 ? ` at ${Number(card.rate_hz.toPrecision(6))} Hz` : ""}` : "";
  return [card.date, name, film, card.setup && `setup ${card.setup}`].filter(Boolean).map(whole).join(" · ");
}

/** Keeps what belongs together on one line, where it is short enough for that. */
const whole = (text: string) => (text.length < 30 ? text.replaceAll(" ", "\u00a0") : text);

function picture(card: Card, title: string): HTMLElement {
  if (!card.exposure) return el("div", { class: "exposure none" }, el("span", {}, "no picture yet"));
  const src = `${launchPath(card.name)}/pictures/exposure?v=${encodeURIComponent(card.changed)}`;
  return el("a", { class: "exposure", href: page(card.name), tabindex: "-1", "aria-hidden": "true" }, el("img", { src, alt: "", loading: "lazy", decoding: "async", title }));
}

/** The line that says what is the matter with a launch, if anything is. */
export function state(card: Card, job: Job | undefined): HTMLParagraphElement {
  const p = el("p", { class: "state" });
  if (job && !over(job)) p.append(stageOf(job));
  else if (card.problem) {
    p.classList.add("warn");
    p.append(upper(card.problem));
  } else p.append(words[card.state]);
  return p;
}

function numbers(card: Card, title: string): HTMLElement {
  if (card.chief.length === 0) return el("div", { class: "numbers" });
  const lanes = new Set(card.chief.map((c) => c.lane)).size > 1;
  return el(
    "table",
    { class: "numbers" },
    el("caption", { class: "spoken" }, `Chief numbers of ${title}`),
    el("thead", { class: "spoken" }, el("tr", {}, el("th", { scope: "col" }, "quantity"), el("th", { scope: "col" }, "value"), el("th", { scope: "col" }, "95 % interval"))),
    el("tbody", {}, ...card.chief.map((c) => number(c, lanes))),
  );
}

/** Takes "at least 10 m/s" apart: what stands before the number goes to the label, where there is room. */
function bounded(text: string): [bound: string, number: string] {
  const m = /^(at least|at most) (.*)$/.exec(text);
  return m ? [m[1], m[2]] : ["", text];
}

/** The label of a chief number without its bracket; a bound is one of what was in view, which then goes without saying. */
function label(words: string, bound: string): string {
  const short = words.replace(/ \(.*\)$/, "");
  return bound ? `${short.replace(/ in view$/, "")}, ${bound}` : short;
}

function number(c: Chief, lanes: boolean): HTMLTableRowElement {
  const [bound, text] = bounded(c.text);
  const value = figure(text);
  const between = ends(c.interval);
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, unit(label(c.label, bound)) + (lanes ? `, lane ${c.lane}` : "")),
    el("td", { class: "value" }, value ? column(value, true) : unit(text)),
    el("td", { class: "interval" }, ...(between ? [column(between[0], false), el("span", { class: "to" }, "to"), column(between[1], false)] : [unit(c.interval)])),
  );
}

/** All numbers of the entries, for the widths of their columns. */
export function figuresOf(cards: Card[]): (Figure | null)[] {
  return cards.flatMap((card) => card.chief.flatMap((c) => [figure(bounded(c.text)[1]), ...(ends(c.interval) ?? [])]));
}
