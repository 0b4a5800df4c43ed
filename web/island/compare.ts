// The compare page: several launches on one sheet, what their answers are to each other, and who came first.

import { api } from "../client/desk";
import { el, svg } from "../client/draw";
import { unit, upper } from "../client/numbers";
import { say, show } from "../client/shell";
import type { Card } from "../client/types";
import { compareRow } from "./comparerows";
import { CompareSheet } from "./comparesheet";
import { modelNote, repeatsTable, sweepPicture } from "./comparesweep";
import { CompareModel, CompareView, strokeOf } from "./compareview";
import { choice } from "./controls";
import { dashes } from "./inks";
import { RaceSection } from "./race";
import { choices, printed, Quantity, settled, Units } from "./reading";

const root = document.getElementById("compare")!;

interface Asked {
  names: string[];
  sweep: string;
  repeats: boolean;
  race: string; // one that was drawn of them
  units: Units;
}

function readAddress(): Asked {
  const q = new URLSearchParams(location.search);
  const of = (key: Quantity) => ((choices[key] as readonly string[]).includes(q.get(key) ?? "") ? q.get(key)! : "");
  return { names: q.getAll("launch"), sweep: q.get("sweep") ?? "", repeats: q.get("repeats") === "1", race: q.get("race") ?? "", units: { speed: of("speed"), length: of("length"), acceleration: of("acceleration") } };
}

function query(a: Asked): string {
  const q = new URLSearchParams(a.names.map((n) => ["launch", n]));
  if (a.sweep) q.set("sweep", a.sweep);
  if (a.repeats) q.set("repeats", "1");
  if (a.race) q.set("race", a.race);
  for (const [key, u] of Object.entries(a.units)) if (u) q.set(key, u);
  return `?${q}`;
}

const asked = readAddress();
let conditions: string[] = [];
let speeds: string[] = [];
let race: RaceSection | undefined;

/** Conditions in which the launches differ. */
async function differing() {
  const { launches } = await api<{ launches: Card[] }>("GET", "/api/logbook");
  const cards = asked.names.map((n) => launches.find((c) => c.name === n)).filter((c) => c !== undefined);
  const keys = new Set(cards.flatMap((c) => c.conditions.map((k) => k.key)));
  const text = (c: Card, key: string) => c.conditions.find((k) => k.key === key)?.text ?? "";
  conditions = [...keys].filter((key) => new Set(cards.map((c) => text(c, key))).size > 1 && cards.every((c) => /\d/.test(text(c, key))));
  speeds = cards.flatMap((c) => c.chief.map((k) => k.label.replace(/^time to /, ""))).filter((t) => /^\d/.test(t));
}

/** What a launch is called beside its number. */
const called = (v: CompareView, n: number) => {
  const l = v.launches[n - 1];
  return l.title + (l.lane ? `, lane ${l.lane}` : "");
};

function roster(v: CompareView): HTMLElement {
  const list = el("ol", { class: "roster" });
  v.launches.forEach((l, i) => {
    const { pen, dash } = strokeOf(i + 1);
    const line = svg("line", { class: `pen${pen + 1}`, x1: 0, x2: 44, y1: 5, y2: 5, "stroke-dasharray": dashes[dash].join(" ") || "none" });
    list.append(
      el(
        "li",
        {},
        el("span", { class: `lane pen${pen + 1}` }, String(i + 1)),
        svg("svg", { width: 44, height: 10, "aria-hidden": "true" }, line),
        el("a", { href: `/launch/${encodeURIComponent(l.name)}${l.lane ? `?lane=${l.lane}` : ""}` }, called(v, i + 1)),
        l.setup && el("span", { class: "faint" }, `setup ${l.setup}`),
      ),
    );
  });
  return list;
}

function places(v: CompareView): HTMLElement | null {
  if (!v.order || v.order.length === 0) return null;
  const lines = v.order.map((group, i) => el("li", {}, el("span", { class: "place" }, v.places[i] ?? String(i + 1)), el("span", {}, ...group.flatMap((n, k) => [k > 0 && "; ", called(v, n), " ", el("span", { class: "faint" }, `launch ${n}`)]))));
  return el("section", { class: "places" }, el("h2", {}, `Places by ${unit(v.order_by)}`), el("ol", {}, ...lines), el("p", { class: "faint" }, v.order.some((group) => group.length > 1) ? 'A place with "=" is shared: the intervals do not tell those launches apart.' : "The intervals tell all launches apart: no place is shared."));
}

/** What it takes to tell the designs apart, by the answer that orders them. */
function designs(v: CompareView): HTMLElement | null {
  const row = v.rows.find((r) => r.orders);
  if (!row || row.designs.length === 0) return null;
  const lines = el("ul", {}, ...row.designs.map((d) => el("li", {}, `${unit(d).replace(/(^|\s)-(?=\d)/g, "$1−")}.`)));
  return el("section", { class: "designs" }, el("h2", {}, `Are the designs told apart, by ${unit(v.order_by)}?`), el("p", { class: "faint" }, "Launches of one vehicle whose conditions read alike are one design."), row.designs.length <= 6 ? lines : el("details", {}, el("summary", {}, `All ${row.designs.length} pairs`), lines));
}

function controls(v: CompareView): HTMLElement {
  const units = settled(asked.units, speeds, []);
  const unitChoice = (q: Quantity, label: string) =>
    choice(`unit-${q}`, label, choices[q].map((u): [string, string] => [u, printed(u)]), units[q], (u) => {
      asked.units[q] = u;
      again();
    });
  const repeats = el("input", {
    type: "checkbox",
    id: "repeats",
    checked: asked.repeats,
    change: () => {
      asked.repeats = repeats.checked;
      again();
    },
  });
  const sweep =
    conditions.length > 0 &&
    choice("sweep", "They differ on purpose in", [["", "nothing"], ...conditions.map((c): [string, string] => [c, c.replaceAll("_", " ")])], asked.sweep, (c) => {
      asked.sweep = c;
      again();
    });
  return el(
    "div",
    { class: "choices", role: "group", "aria-label": "How to compare" },
    unitChoice("speed", "Speeds in"),
    unitChoice("length", "Heights in"),
    unitChoice("acceleration", "Acceleration in"),
    v.launches.length > 1 && el("label", { for: "repeats", class: "tick" }, repeats, " They repeat each other"),
    sweep,
  );
}

function again() {
  history.replaceState(null, "", query(asked));
  const focused = document.activeElement?.id;
  say("Working out the comparison.");
  load()
    .then(() => (say(""), focused) && document.getElementById(focused)?.focus())
    .catch(refused);
}

async function load() {
  await differing();
  draw(await api<CompareView>("GET", `/api/compare${query(asked)}`));
}

function draw(v: CompareView) {
  const rows = v.rows.map((r) => compareRow(r)).filter((r) => r !== null);
  const notes = v.warnings ?? [];
  const units = settled(asked.units, speeds, []);
  const sheet = new CompareSheet(v, units);
  const more = [v.sweep.length > 0 && sweeps(v, units), repeatsTable(v)];
  race ??= new RaceSection(asked.names, asked.race, (id) => {
    asked.race = id;
    history.replaceState(null, "", query(asked));
  });
  root.replaceChildren(
    ...[
      roster(v),
      places(v),
      designs(v),
      controls(v),
      sheet.box,
      v.launches.length > 1 && race.box,
      ...more,
      el("section", { class: "rows" }, el("h2", {}, "Answer by answer"), el("p", { class: "faint" }, "Each stroke is a 95 % interval, its upright tick the value. Errors that launches of one setup share cancel in ratios and differences."), ...rows),
      notes.length > 0 && el("section", { class: "warnings" }, el("h2", {}, "To bear in mind"), el("ul", {}, ...notes.map((w) => el("li", {}, `${upper(unit(w.message))}.`)))),
    ].filter((e) => e instanceof HTMLElement),
  );
}

/** The sweep's pictures; the flight model's curves come once it is fitted. */
function sweeps(v: CompareView, units: Units): HTMLElement {
  const box = el("section", { class: "sweeps" });
  const fill = (m: CompareModel | null, note: HTMLElement | null) =>
    box.replaceChildren(...[el("h2", {}, "What is best"), ...v.sweep.map((line) => sweepPicture(line, m, units)), note].filter((e) => e !== null));
  fill(null, el("p", { class: "faint", role: "status" }, "Fitting the flight model to all launches, where they name one."));
  api<CompareModel>("GET", `/api/compare/model${query(asked)}`)
    .then((m) => fill(m, modelNote(m)))
    .catch((problem: unknown) => fill(null, el("p", { class: "faint" }, `No flight model's curve: ${problem instanceof Error ? problem.message : String(problem)}`)));
  return box;
}

function refused(problem: unknown) {
  show(problem);
  if (!root.querySelector(".roster")) root.replaceChildren();
}

if (asked.names.length === 0) root.replaceChildren(el("p", {}, "Choose launches on the ", el("a", { href: "/" }, "logbook page"), " to compare them here."));
else {
  root.replaceChildren(el("p", { class: "faint" }, "Working out the comparison: every answer on the same draws of what the launches share."));
  load().catch(refused);
}
