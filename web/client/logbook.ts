// The logbook page: every launch with its picture and its chief numbers.

import { addPart } from "./add";
import { api, launchPath, watch } from "./desk";
import { el } from "./draw";
import { widths } from "./numbers";
import { keepPlace, readPlace } from "./place";
import { figuresOf, row, RowActions, state } from "./rows";
import { quantities, quantity, ruler, rulerHead } from "./ruler";
import { over, say, show } from "./shell";
import type { Card, Job } from "./types";

/** So many entries are drawn at a time; more as the reader comes to their end. */
const pageful = 40;

const place = readPlace();
let cards: Card[] = [];
let loaded = false;
let shown = pageful;
const jobs = new Map<string, Job>();

const main = document.getElementById("content")!;
const list = el("ol", { class: "entries" });
const head = el("div", { class: "axis" });
const more = el("button", { type: "button", class: "more", click: () => grow() }, "Show more");
const count = el("p", { class: "count", role: "status" });
const chosen = el("div", { class: "chosen" });
const find = el("input", { type: "search", id: "find", value: place.find, autocomplete: "off" });
const by = el("select", { id: "by" });
const turn = el("button", { type: "button", class: "quiet", id: "turn" });
const scale = el("select", { id: "scale" });
const tools = el(
  "form",
  { class: "tools", role: "search", "aria-label": "Launches" },
  el("div", {}, el("label", { for: "find" }, "Find"), find),
  el("div", {}, el("label", { for: "by" }, "Sort by"), by, turn),
  el("div", {}, el("label", { for: "scale" }, "Axis"), scale),
  count,
);
const begin = el(
  "section",
  { class: "begin", "aria-label": "How to begin" },
  el("p", {}, "This logbook is empty. To measure a launch:"),
  el(
    "ol",
    {},
    el("li", {}, "Drop its footage here: a clip, a high-speed clip, or a burst of stills."),
    el("li", {}, "On its setup page say how fast the camera really ran, and mark something of known length: a rod beside the flight line is best."),
    el("li", {}, "On its launch page read how fast, how soon and how hard, each with an interval that says how sure it is."),
  ),
  el("p", {}, "No footage at hand? ", el("code", {}, "padside demo"), " draws a club day and leaves a logbook of it."),
);

/** What lies in the trash, each with the way back. */
const trash = el("details", { class: "trash", hidden: true });

interface Aside {
  entry: string;
  what: string;
  title: string;
  on: string;
}

async function loadTrash() {
  const list = (await api<{ trash: Aside[] }>("GET", "/api/trash")).trash;
  trash.hidden = list.length === 0;
  const back = (a: Aside) =>
    api("POST", `/api/trash/${encodeURIComponent(a.entry)}/take-back`).then(() => (say(`${a.title} is back.`), load())).catch(show);
  trash.replaceChildren(
    el("summary", {}, `In the trash: ${list.length}`),
    el("ul", {}, ...list.map((a) => el("li", {}, el("span", {}, a.title), el("span", { class: "faint" }, `${a.what}, put there on ${a.on}`), el("button", { type: "button", class: "quiet", click: () => void back(a) }, "Bring it back")))),
  );
}

const actions: RowActions = {
  picked: (name) => place.pick.includes(name),
  pick(name, on) {
    place.pick = place.pick.filter((n) => n !== name);
    if (on) place.pick.push(name);
    keepPlace(place);
    tellChosen();
  },
  remove,
  job: (name) => jobs.get(name),
};

function sorted(): Card[] {
  const words = place.find.toLowerCase().split(/\s+/).filter(Boolean);
  const kept = cards.filter((c) => {
    const text = [c.title, c.name, c.vehicle, c.date, c.setup, c.state, ...c.conditions.map((k) => `${k.key.replaceAll("_", " ")} ${k.text}`)].join(" ").toLowerCase();
    return words.every((w) => text.includes(w));
  });
  const number = (c: Card) => c.chief.find((k) => quantity(k) === place.by)?.value;
  const order: Record<string, (a: Card, b: Card) => number> = {
    date: (a, b) => a.date.localeCompare(b.date) || a.changed.localeCompare(b.changed),
    changed: (a, b) => a.changed.localeCompare(b.changed),
    vehicle: (a, b) => a.vehicle.localeCompare(b.vehicle, "en", { numeric: true }),
    title: (a, b) => a.title.localeCompare(b.title, "en", { numeric: true }),
  };
  const compare = order[place.by];
  return kept.sort((a, b) => {
    const sign = place.up ? 1 : -1;
    if (compare) return sign * compare(a, b);
    const [x, y] = [number(a), number(b)];
    // A launch without the number stands last, whichever way the rest runs.
    return x === undefined || y === undefined ? Number(x === undefined) - Number(y === undefined) : sign * (x - y);
  });
}

function draw() {
  const empty = cards.length === 0;
  begin.hidden = !empty || !loaded;
  tools.hidden = head.hidden = list.hidden = empty;
  const kept = sorted();
  const axis = ruler(kept, place.scale || quantities(kept)[0] || "");
  const w = widths(figuresOf(kept));
  list.style.setProperty("--whole", `${w.whole}ch`);
  list.style.setProperty("--part", `${Math.max(0, w.part - 0.45)}ch`);
  main.classList.toggle("no-axis", !axis);
  head.replaceChildren();
  if (axis) head.append(el("p", {}, `${axis.quantity}${axis.unit ? `, ${axis.unit}` : ""}`), rulerHead(axis));
  const focused = document.activeElement instanceof HTMLElement ? document.activeElement.id : "";
  list.replaceChildren(...kept.slice(0, shown).map((c) => row(c, axis, actions)));
  if (focused.startsWith("pick-")) document.getElementById(focused)?.focus();
  more.hidden = kept.length <= shown;
  more.textContent = `Show more (${kept.length - shown} to come)`;
  count.textContent = empty ? "" : kept.length === cards.length ? `${cards.length} ${cards.length === 1 ? "launch" : "launches"}` : `${kept.length} of ${cards.length} launches`;
  turn.textContent = place.up ? "smallest first" : "largest first";
  if (place.by === "date" || place.by === "changed") turn.textContent = place.up ? "oldest first" : "newest first";
  else if (place.by === "vehicle" || place.by === "title") turn.textContent = place.up ? "A to Z" : "Z to A";
  tellChosen();
}

function grow() {
  shown += pageful;
  draw();
}

function options() {
  const all = quantities(cards);
  const fixed = [["date", "date"], ["changed", "last change"], ["vehicle", "vehicle"], ["title", "title"]];
  by.replaceChildren(...[...fixed, ...all.map((q) => [q, q])].map(([value, text]) => el("option", { value, selected: value === place.by }, text)));
  scale.replaceChildren(...all.map((q) => el("option", { value: q, selected: q === place.scale }, q)));
  scale.parentElement!.hidden = all.length === 0;
}

function tellChosen() {
  chosen.replaceChildren();
  if (!loaded) return;
  place.pick = place.pick.filter((n) => cards.some((c) => c.name === n));
  if (place.pick.length === 0) return;
  const titles = place.pick.map((n) => cards.find((c) => c.name === n)!.title || n);
  chosen.append(
    el("p", {}, el("strong", {}, `${titles.length} chosen for comparison: `), titles.join(", "), " ", place.pick.length > 1 && el("a", { class: "go", href: `/compare?${new URLSearchParams(place.pick.map((n) => ["launch", n]))}` }, "Compare them"), " ", place.pick.length > 1 && el("a", { class: "go", href: `/heats?${new URLSearchParams(place.pick.map((n) => ["launch", n]))}` }, "Race them"), " ", el("button", { type: "button", class: "quiet", click: () => { place.pick = []; keepPlace(place); draw(); } }, "Choose none")),
  );
}

async function remove(card: Card) {
  const title = card.title || card.name;
  try {
    await api("DELETE", launchPath(card.name));
    cards = cards.filter((c) => c !== card);
    draw();
    loadTrash().catch(show);
    say(`${title} is in the trash.`, {
      label: "Bring it back",
      run: () => api("POST", `/api/trash/${encodeURIComponent(card.name)}/restore`).then(() => say(`${title} is back.`)).then(load).catch(show),
    });
  } catch (problem) {
    show(problem);
  }
}

async function load() {
  try {
    cards = (await api<{ launches: Card[] }>("GET", "/api/logbook")).launches;
    loaded = true;
    options();
    draw();
    await loadTrash();
  } catch (problem) {
    show(problem);
  }
}

/** After an import: of one launch the setup is opened, as nothing can be measured without it; of several the logbook shows the newest. */
async function added(names: string[]) {
  if (names.length === 1) {
    location.href = `/setup/${encodeURIComponent(names[0])}`;
    return;
  }
  await load();
  say(`${names.length} launches are in the logbook.`);
}

function start() {
  tools.addEventListener("submit", (e) => e.preventDefault());
  find.addEventListener("input", () => change(() => (place.find = find.value)));
  by.addEventListener("change", () => change(() => (place.by = by.value)));
  scale.addEventListener("change", () => change(() => (place.scale = scale.value)));
  turn.addEventListener("click", () => change(() => (place.up = !place.up)));
  new IntersectionObserver(() => more.getBoundingClientRect().top < innerHeight + 600 && !more.hidden && grow(), { rootMargin: "600px" }).observe(more);
  main.append(addPart(added), begin, tools, chosen, head, list, more, trash);
  draw();
  let due = 0;
  watch((e) => {
    if (e.kind === "job" && e.job) {
      jobs.set(e.job.launch, e.job);
      const at = [...list.children].find((c) => (c as HTMLElement).dataset.name === e.job!.launch);
      const card = cards.find((c) => c.name === e.job!.launch);
      if (at && card && !over(e.job)) at.querySelector(".state")!.replaceWith(state(card, e.job));
      if (!over(e.job)) return;
    }
    // Several events in a row make one request.
    clearTimeout(due);
    due = window.setTimeout(load, 150);
  }, load);
  load();
}

function change(set: () => void) {
  set();
  shown = pageful;
  keepPlace(place);
  draw();
}

start();
