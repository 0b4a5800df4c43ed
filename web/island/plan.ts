// The page of one shoot: what each camera mode would see and answer, its rehearsal, and its file to change.

import { api, watch } from "../client/desk";
import { el } from "../client/draw";
import { ended, upper } from "../client/numbers";
import { over, say, show } from "../client/shell";
import { sideView } from "./planpicture";
import type { Mode, PlanPage } from "./planview";

const root = document.getElementById("plan")!;
const name = root.dataset.name!;
const path = `/api/shoots/${encodeURIComponent(name)}`;
const result = el("div", { class: "result" });
const text = el("textarea", { id: "shoot-text", rows: 24, spellcheck: "false", autocomplete: "off" });
const change = el("details", { class: "change" }, el("summary", {}, "Change this shoot"));
let page: PlanPage;
let base = ""; // the revision that the text in the field was read from

const work = (mode = 0, takes = 0) => api("POST", `${path}/plan`, { mode, takes }).then(load).catch(show);

const busy = () => page.job !== null && !over(page.job);

/** How often a mode is filmed by its button. */
const takes = 4;

function verdicts(m: Mode): HTMLElement {
  const rows = m.questions.map((q) =>
    el("li", { class: q.verdict }, el("strong", {}, q.verdict), el("span", { class: "asked" }, upper(q.name)), el("span", { class: "said" }, `${upper(q.text)}.`, q.change && el("span", { class: "help" }, `It would help: ${q.change}.`))),
  );
  return el("ul", { class: "verdicts" }, ...rows);
}

function modes(): HTMLElement[] {
  return page.modes.map((m, i) => {
    const picture = el("figure", {});
    const film = m.films && el("p", {}, el("button", { type: "button", disabled: busy(), click: () => work(i + 1, takes) }, `Rehearse it: film ${takes} takes in simulation and measure them`));
    const box = el("section", { class: "mode", "aria-label": m.name }, el("h2", {}, m.name), picture, el("div", {}, ...m.lines.map((l) => el("p", { class: "line" }, `${upper(l)}.`)), verdicts(m), film));
    requestAnimationFrame(() => picture.replaceChildren(sideView(page.place!, page.plan!.options[i], Math.max(260, picture.clientWidth))));
    return box;
  });
}

function draw() {
  document.querySelector("h1")!.textContent = page.title;
  const failed = page.job?.state === "failed" ? page.job.problem : null;
  const problem = page.problem ?? failed;
  result.replaceChildren(
    ...[
      problem && el("p", { class: "warn" }, `${upper(ended(problem.message))} ${upper(ended(problem.hint))}`),
      page.stale && el("p", { class: "warn" }, "What was worked out before was of another file or another motion."),
      !page.problem && !page.plan && el("p", {}, busy() ? "Working it out." : el("button", { type: "button", class: "primary", click: () => work() }, "Work it out")),
      page.plan && el("p", { class: "given" }, `${upper(ended(page.given))}`),
      ...(page.plan ? modes() : []),
      page.bursts.length > 0 && el("section", {}, el("h2", {}, "Pressing the release"), el("ul", { class: "plain" }, ...page.bursts.map((b) => el("li", {}, b)))),
      page.plan && el("section", { class: "safety" }, el("h2", {}, "So that nobody is hurt"), el("ul", { class: "plain" }, ...page.plan.warnings.map((w) => el("li", {}, `${upper(w.message)}.`)))),
    ].filter((e) => e instanceof HTMLElement),
  );
}

async function load() {
  page = await api<PlanPage>("GET", path);
  if (!base) {
    base = page.revision;
    text.value = page.text;
    change.toggleAttribute("open", page.problem !== null);
  }
  draw();
}

function keep(e: Event) {
  e.preventDefault();
  api("PUT", path, { base, text: text.value }).then(async () => {
    base = "";
    await load();
    say("The shoot is changed.");
    await work();
  }, show);
}

const drop = () => {
  unwatch(); // what is put aside is not asked for again
  api("DELETE", path).then(() => (location.href = "/shoots"), show);
};

change.append(
  el("form", { submit: keep }, el("p", {}, el("label", { for: "shoot-text" }, "Its file; paths in it start from the folder ", el("code", {}, `shoots/${name}`), " of the logbook")), text, el("p", {}, el("button", { type: "submit" }, "Keep these changes and work it out"))),
  el("p", { class: "drop" }, el("button", { type: "button", class: "quiet", click: drop }, "Put this shoot into the trash")),
);
root.replaceChildren(result, change);
load().catch(show);
const unwatch = watch((e) => {
  if (e.kind === "shoot" || (e.kind === "job" && e.job?.shoot === name && (over(e.job) || e.job.state === "running"))) load().catch(show);
}, () => load().catch(show));
let due = 0;
addEventListener("resize", () => {
  clearTimeout(due);
  due = window.setTimeout(() => page && draw(), 150);
});
