// The page of one heat: its order, who has no place and why, its rules; and the form to change it.

import { api, launchPath, watch } from "../client/desk";
import { el, svg } from "../client/draw";
import { unit, upper } from "../client/numbers";
import { say, show } from "../client/shell";
import type { Card } from "../client/types";
import { choice } from "./controls";
import { HeatForm } from "./heatform";
import type { Heat, HeatLine, HeatPage } from "./heatview";
import { RaceSection } from "./race";
import { choices, plain, printed, Quantity } from "./reading";
import { rulings } from "./span";

const root = document.getElementById("heat")!;
const name = root.dataset.name!;
const path = `/api/heats/${encodeURIComponent(name)}`;
const result = el("div", { class: "result" });
const change = el("details", { class: "change" }, el("summary", {}, "Change this heat"));
let page: HeatPage;
/** The race of those with a place, and the id of the one drawn last: it stands in the address. */
let race: RaceSection | undefined;
let raced: string[] = [];
let drawn = new URLSearchParams(location.search).get("race") ?? "";
const units: Record<Quantity, string> = { speed: "", length: "", acceleration: "" };
for (const q of Object.keys(units) as Quantity[]) {
  const got = new URLSearchParams(location.search).get(q) ?? "";
  if ((choices[q] as readonly string[]).includes(got)) units[q] = got;
}

const query = () => new URLSearchParams(Object.entries(units).filter(([, u]) => u)).toString();

function address() {
  const q = new URLSearchParams(query());
  if (drawn) q.set("race", drawn);
  history.replaceState(null, "", q.size > 0 ? `?${q}` : location.pathname);
}

const sentence = (s: string) => `${upper(unit(s))}.`;

/** The axis on which the strokes of all lines with a place lie. */
function axisOf(lines: HeatLine[]) {
  const low = Math.min(...lines.map((l) => l.low!));
  const high = Math.max(...lines.map((l) => l.high!));
  const room = 0.06 * (high - low || Math.abs(high) || 1);
  const [from, to] = [low - room, high + room];
  const { at, places } = rulings(from, to, 4);
  return { x: (v: number) => `${(100 * (v - from)) / (to - from)}%`, at, places };
}

type Axis = ReturnType<typeof axisOf>;

function stroke(l: HeatLine, a: Axis): SVGElement {
  const box = svg("svg", { class: "strokes", height: 34, "aria-hidden": "true" });
  for (const t of a.at) box.append(svg("line", { class: "tick", x1: a.x(t), x2: a.x(t), y1: 0, y2: 34 }));
  box.append(svg("line", { class: "reach", x1: a.x(l.low!), x2: a.x(l.high!), y1: 17, y2: 17 }), svg("line", { class: "best", x1: a.x(l.value!), x2: a.x(l.value!), y1: 9, y2: 25 }));
  return box;
}

function who(l: HeatLine): HTMLElement {
  const text = l.launch ? el("a", { href: `/launch/${encodeURIComponent(l.launch)}${l.lane ? `?lane=${l.lane}` : ""}` }, l.name) : l.name;
  return el("span", { class: "who" }, el("span", { class: "number" }, l.number), " ", text);
}

function order(h: Heat): HTMLElement {
  const placed = h.lines.filter((l) => l.place);
  if (placed.length === 0) return el("p", {}, "Nobody has a place yet.");
  const axis = axisOf(placed);
  const head = svg("svg", { class: "strokes", height: 18, "aria-hidden": "true" });
  for (const t of axis.at) head.append(svg("text", { x: axis.x(t), y: 13, "text-anchor": "middle" }, plain(t, axis.places)));
  const heading = (text: string, c: string, extra?: SVGElement) => el("th", { scope: "col", class: c }, text, extra ?? null);
  const table = el("table", { class: "order" }, el("caption", { class: "spoken" }, "Order of finishing"), el("thead", {}, el("tr", {}, heading("place", "place"), heading("entry", "entry"), heading("result and 95 % interval", "value"), heading(unit(h.unit), "stroke", head), heading("behind the best", "behind"), heading("odds of first", "odds"))));
  let body: HTMLElement | null = null;
  let last = "";
  for (const l of placed) {
    const share = placed.filter((m) => m.place === l.place).length;
    if (l.place !== last) table.append((body = el("tbody", share > 1 ? { class: "tied" } : {})));
    body!.append(
      el(
        "tr",
        {},
        l.place !== last && el("th", { scope: "rowgroup", rowspan: share, class: "place" }, l.place),
        el("td", { class: "entry" }, who(l), l.about && el("span", { class: "faint about" }, l.about)),
        el("td", { class: "value" }, el("strong", {}, unit(l.text)), el("span", { class: "faint" }, unit(l.interval_text))),
        el("td", { class: "stroke" }, stroke(l, axis)),
        el("td", { class: "behind" }, l.behind && el("strong", {}, unit(l.behind)), l.behind && el("span", { class: "faint" }, unit(l.behind_interval))),
        el("td", { class: "odds" }, l.first),
      ),
    );
    last = l.place;
  }
  const notes = placed.flatMap((l) => l.notes.map((n) => el("p", { class: "note" }, el("strong", {}, `${l.number} ${l.name}: `), unit(n), ".")));
  return el("section", { "aria-label": "Order" }, table, el("p", { class: "faint" }, h.sharing), ...notes);
}

const groups: [HeatLine["standing"], string][] = [["waiting", "Waiting to be measured"], ["no-result", "No result"], ["not-classified", "Not classified"]];

function others(h: Heat): HTMLElement[] {
  return groups.flatMap(([standing, words]) => {
    const lines = h.lines.filter((l) => !l.place && l.standing === standing);
    if (lines.length === 0) return [];
    const line = (l: HeatLine) => el("li", {}, who(l), l.text && el("span", { class: "faint" }, ` ${unit(l.text)} (${unit(l.interval_text)})`), ...[...l.reasons, l.problem].filter(Boolean).map((r) => el("span", { class: "reason" }, sentence(r))));
    const launches = [...new Set(lines.map((l) => l.launch).filter(Boolean))];
    const measure = standing === "waiting" && launches.length > 0 && el("p", {}, el("button", { type: "button", click: () => launches.forEach((n) => api("POST", `${launchPath(n)}/measure`).catch(show)) }, "Measure them"));
    return [el("section", { class: "out" }, el("h2", {}, words), el("ul", {}, ...lines.map(line)), measure)];
  });
}

const listed = (title: string, lines: string[]) => lines.length > 0 && el("section", {}, el("h2", {}, title), el("ul", { class: "plain" }, ...lines.map((l) => el("li", {}, sentence(l)))));

function ways(): HTMLElement {
  const at = `/heats/${encodeURIComponent(name)}/sheet?${query()}`;
  const board = root.dataset.board;
  return el(
    "p",
    { class: "ways" },
    el("a", { href: at }, "Result sheet"),
    el("a", { href: `${at}&keep=1`, download: "heat.html" }, "Keep it as a file"),
    board ? el("a", { href: `${board}heat/${encodeURIComponent(name)}` }, "The public board") : el("span", { class: "faint" }, "For a screen or the club's network: ", el("code", { class: "whole" }, "padside serve --board HOST:PORT"), "."),
  );
}

function unitChoices(): HTMLElement {
  const one = (q: Quantity, label: string) =>
    choice(`unit-${q}`, label, [["", "as asked"], ...choices[q].map((u): [string, string] => [u, printed(u)])], units[q], (u) => {
      units[q] = u;
      address();
      load().catch(show);
    });
  return el("div", { class: "choices", role: "group", "aria-label": "How to read" }, one("speed", "Speeds in"), one("length", "Heights in"), one("acceleration", "Acceleration in"));
}

/** mostRaced is how many launches one clip can show. */
const mostRaced = 8;

/** The race section stays as it is while the same launches have a place. */
function racing(h: Heat): HTMLElement | false {
  const names = [...new Set(h.lines.filter((l) => l.place && l.launch).map((l) => l.launch))].slice(0, mostRaced);
  if (names.length < 2) return false;
  const same = [...names].sort().join("\n") === [...raced].sort().join("\n");
  if (!race || !same) {
    race = new RaceSection(names, race ? "" : drawn, (id) => {
      drawn = id;
      address();
    });
    raced = names;
  }
  return race.box;
}

function draw() {
  const h = page.heat;
  const focused = document.activeElement?.id;
  result.replaceChildren(
    ...[
      page.problem && el("p", { class: "warn" }, `${upper(page.problem.message)}. ${upper(page.problem.hint)}.`),
      h && el("p", { class: "on" }, `${h.date ? `${h.date}. ` : ""}${upper(unit(h.raced_on))}; ${h.best}.`),
      h && ways(),
      h && order(h),
      ...(h ? others(h) : []),
      h && racing(h),
      h && listed("Rules", h.rules),
      h && listed("To bear in mind", h.warnings),
      h && el("section", {}, el("h2", {}, "How it was measured"), ...h.measured.map((m) => el("p", {}, m))),
      h && unitChoices(),
    ].filter((e) => e instanceof HTMLElement),
  );
  if (h) document.querySelector("h1")!.textContent = h.title;
  if (focused) document.getElementById(focused)?.focus();
}

async function load() {
  page = await api<HeatPage>("GET", `${path}?${query()}`);
  draw();
}

async function form() {
  const base = page.revision; // of what stands in the form: a change made elsewhere meanwhile is not overwritten
  const { launches } = await api<{ launches: Card[] }>("GET", "/api/logbook");
  const drop = el("button", { type: "button", class: "quiet", click: () => {
    api("DELETE", path).then(() => (location.href = "/heats"), show);
  } }, "Put this heat into the trash");
  const old = change.querySelector(".heat-form, .broken");
  old?.remove();
  change.querySelector(".drop")?.remove();
  change.append(
    page.form
      ? new HeatForm(page.form, launches, "Keep these changes", (f) => {
          api("PUT", path, { base, form: f }).then(async () => {
            await load();
            await form();
            say("The heat is changed.");
          }, show);
        }).box
      : el("p", { class: "broken" }, "Its file cannot be read: mend heat.toml with a text editor."),
    el("p", { class: "drop" }, drop),
  );
}

let due = 0;
const again = () => {
  clearTimeout(due);
  due = window.setTimeout(() => load().catch(show), 200);
};

root.replaceChildren(result, change);
result.replaceChildren(el("p", { class: "faint" }, "Working out the order."));
load().then(form).catch(show);
watch((e) => e.kind !== "job" && again(), again);
