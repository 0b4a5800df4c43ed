// The launch page: one launch on one sheet.

import { api, launchPath } from "../client/desk";
import { el } from "../client/draw";
import { unit, upper } from "../client/numbers";
import { show } from "../client/shell";
import { readPlace, unitQuery } from "./address";
import { answersTable, headline } from "./answers";
import { Ask } from "./ask";
import { History, laneChoice, readingChoices } from "./controls";
import { Edits } from "./edits";
import { Follow } from "./follow";
import { Model } from "./model";
import { Sheet } from "./sheet";
import { Standing } from "./standing";
import { TraceTable } from "./tracetable";
import type { View } from "./view";

const root = document.getElementById("launch")!;

/** What is known of the launch beside its numbers, in one line. */
function facts(v: View): string {
  const list = [v.vehicle, v.date, ...v.conditions.map((c) => `${c.key.replaceAll("_", " ")} ${unit(c.text)}`)];
  const f = v.footage;
  if (f) list.push(`${f.frames} frames of ${f.width} × ${f.height} px`, f.rate_hz ? `${Number(f.rate_hz.toPrecision(6))} Hz` : "");
  if (f && !f.complete) list.push("footage damaged: only the frames that can be read");
  return list.filter(Boolean).join(" · ");
}

function warnings(v: View): HTMLElement | null {
  if (v.warnings.length === 0) return null;
  return el("section", { class: "warnings", "aria-labelledby": "warnings-title" }, el("h2", { id: "warnings-title" }, "To bear in mind"), el("ul", {}, ...v.warnings.map((w) => el("li", {}, `${upper(unit(w.message))}.`))));
}

/** Puts a new element where an old one stands, or takes it away. */
function put(slot: HTMLElement, content: HTMLElement | null) {
  slot.replaceChildren(...(content ? [content] : []));
}

async function open() {
  const name = root.dataset.name!;
  const m = new Model(readPlace());
  m.view = await api<View>("GET", launchPath(name) + unitQuery(m.place.units));
  const edits = new Edits(m);
  const follow = new Follow(m, edits);
  const standing = new Standing(m, edits, () => follow.show());
  const history = new History(m, edits);
  const ask = new Ask(m, edits);
  const table = new TraceTable(m);
  const [about, head, lanes, answers, notes] = [el("p", { class: "facts" }), el("div", {}), el("div", { class: "lane-slot" }), el("div", {}), el("div", {})];
  const reading = el("div", {});
  const bar = el("div", { class: "above" }, lanes, reading, history.box);
  const sheet = new Sheet(m, edits);
  root.append(about, standing.box, head, bar, sheet.box, answers, notes, ask.form, follow.box, table.box);
  let lane = 0;
  m.onChange((part) => {
    const otherLane = m.place.lane !== lane;
    lane = m.place.lane;
    if (part === "place") table.renew();
    if (part === "job") standing.renew();
    if (part !== "view" && !otherLane) return;
    about.textContent = facts(m.view);
    standing.renew();
    history.renew();
    ask.renew();
    follow.renew();
    table.renew();
    const measured = m.ready;
    for (const e of [bar, sheet.box, table.box]) e.hidden = !measured;
    ask.form.hidden = !measured;
    put(head, measured ? headline(m) : null);
    if (!reading.contains(document.activeElement)) put(reading, measured ? readingChoices(m, () => void edits.reload()) : null);
    if (!lanes.contains(document.activeElement)) put(lanes, measured ? laneChoice(m) : null);
    put(answers, measured ? answersTable(m) : null);
    put(notes, measured ? warnings(m.view) : null);
  });
  m.take(m.view);
}

open().catch(show);
