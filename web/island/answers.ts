// The answers: the chief ones as sentences in large type, all of them in a table aligned on the decimal point.

import { el } from "../client/draw";
import { column, ends, figure, unit, widths } from "../client/numbers";
import { budgetBar, budgetLegend } from "./budget";
import type { Model } from "./model";
import type { Answer } from "./view";

/** Answers a launch is known by, the weightiest first. */
const chief = ["free_fall_acceleration", "time_to_speed", "peak_speed", "peak_acceleration", "average_speed"];
const apart = ["gate_crossing", "gate_speed", "split_speed", "average_speed"];

const own = (m: Model) => m.view.answers.filter((a) => (a.lane ?? 1) === m.place.lane);
const found = (a: Answer) => a.status === "measured" && a.value !== undefined;

/** The sentences at the head of the page. */
export function headline(m: Model): HTMLElement {
  const list = chief.flatMap((id) => {
    const all = own(m).filter((a) => a.id === id && found(a));
    return id === "time_to_speed" ? all.slice(-2) : all.slice(0, 1);
  });
  const box = el("div", { class: "headline" });
  for (const a of list) box.append(sentence(a, "p"));
  if (m.view.advice) box.append(el("p", { class: "advice" }, unit(m.view.advice)));
  return box;
}

function sentence(a: Answer, tag: "p" | "span"): HTMLElement {
  const text = unit(a.sentence);
  return el(tag, { class: "sentence" }, text);
}

/** All answers of the lane. */
export function answersTable(m: Model): HTMLElement {
  const all = own(m);
  const there = all.filter(found);
  const box = el("section", { class: "answers", "aria-labelledby": "answers-title" }, el("h2", { id: "answers-title" }, several(m) ? `Answers for ${m.lane.name}` : "Answers"));
  const legend = budgetLegend(there);
  if (legend) box.append(legend);
  const whole = there.filter((a) => !apart.includes(a.id));
  if (whole.length) box.append(table("Of the whole flight", whole));
  for (const [id, title] of [["gate_crossing", "Passing the gates"], ["gate_speed", "Speed at the gates"], ["split_speed", "Mean speed between gates"], ["average_speed", "Mean speed between two pictures"]]) {
    const rows = there.filter((a) => a.id === id);
    if (rows.length) box.append(table(title, rows));
  }
  box.append(...absent(all));
  return box;
}

const several = (m: Model) => m.view.lanes.length > 1;

function table(title: string, list: Answer[]): HTMLElement {
  const values = list.map((a) => figure(a.text));
  const intervals = list.map((a) => ends(a.interval_text));
  const t = el(
    "table",
    {},
    el("caption", {}, title),
    el(
      "thead",
      {},
      el("tr", {}, ...["What", "Value", "95 % interval", "Made of"].map((h) => el("th", { scope: "col" }, h))),
    ),
  );
  const body = el("tbody", {});
  list.forEach((a, i) => {
    const [v, e] = [values[i], intervals[i]];
    body.append(
      el(
        "tr",
        {},
        el("th", { scope: "row" }, unit(a.label)),
        el("td", { class: "value" }, v ? column(v, true) : a.text),
        el("td", { class: "interval" }, e ? stretch(e) : a.interval_text),
        el("td", { class: "made" }, budgetBar(a)),
      ),
    );
  });
  t.append(body);
  align(t, "value", widths(values));
  align(t, "low", widths(intervals.map((e) => e && e[0])));
  align(t, "high", widths(intervals.map((e) => e && e[1])));
  return t;
}

function stretch([low, high]: [NonNullable<ReturnType<typeof figure>>, NonNullable<ReturnType<typeof figure>>]): DocumentFragment {
  const d = document.createDocumentFragment();
  d.append(el("span", { class: "low" }, column(low, false)), el("span", { class: "to" }, "to"), el("span", { class: "high" }, column(high, false)));
  return d;
}

/** Gives the numbers of one column the width of the widest. */
function align(t: HTMLElement, name: string, w: { whole: number; part: number }) {
  for (const e of t.querySelectorAll<HTMLElement>(`.${name}`)) {
    e.style.setProperty("--whole", `${w.whole}ch`);
    e.style.setProperty("--part", w.part ? `${w.part - 0.5}ch` : "0");
  }
}

/** What was asked and has no answer, in as few words as say why. */
function absent(all: Answer[]): HTMLElement[] {
  const why = new Map<string, string[]>();
  for (const a of all) {
    if (found(a)) continue;
    const reason = a.reason || (a.status === "not-reached" ? "not reached in view" : "too few frames to say");
    // That a gate was not passed says that there is no speed there either.
    if ((a.id === "gate_speed" || a.id === "split_speed" || a.id === "mean_acceleration_to_speed") && a.status === "not-reached") continue;
    why.set(reason, [...(why.get(reason) ?? []), a.label.replace(/^at /, "")]);
  }
  return [...why].map(([reason, labels]) => el("p", { class: "absent" }, `${labels.map(unit).join(", ")}: ${reason}.`));
}
