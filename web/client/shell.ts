// What every page has: the choice of paper, and the status line with work in progress and what there is to say.

import { api, Refusal, watch } from "./desk";
import { el } from "./draw";
import { ended, upper } from "./numbers";
import type { Job } from "./types";

const said = document.getElementById("said")!;
const work = document.getElementById("work")!;

interface Action {
  label: string;
  run: () => void;
}

/** Says something on the status line; screen readers hear it. An action stands beside it as a button. */
export function say(text: string, action?: Action) {
  said.classList.remove("warn");
  said.replaceChildren(text);
  if (action) {
    said.append(" ", el("button", { type: "button", class: "quiet", click: () => { said.replaceChildren(); action.run(); } }, action.label));
  }
}

/** Says what went wrong and what to do. */
export function show(problem: unknown) {
  if (problem instanceof DOMException && problem.name === "AbortError") return;
  const hint = problem instanceof Refusal ? problem.hint : "";
  const message = problem instanceof Error ? problem.message : String(problem);
  said.replaceChildren(el("strong", {}, upper(ended(message))), hint ? ` ${upper(ended(hint))}` : "");
  said.classList.add("warn");
}

const stages: Record<string, string> = { waiting: "waiting its turn", find: "looking for the vehicle", follow: "following the vehicle", measure: "working out the answers", motion: "working out the answers", draw: "drawing the clip", fit: "fitting the flight model", predict: "flying the fitted model", curve: "flying the fitted model", foresee: "foreseeing the answers" };

/** What a job is at, in words. */
export function stageOf(job: Job): string {
  const stage = stages[job.stage] ?? job.stage;
  return job.total > 0 ? `${stage}, ${job.done} of ${job.total}` : stage;
}

export const over = (job: Job) => job.state === "done" || job.state === "failed" || job.state === "cancelled";

/** What a job works on, in words. */
const workOf = (job: Job) => (job.race ? "the race" : job.shoot ? `the plan of ${job.shoot}` : job.model ? `the model of ${job.launch}` : job.launch);

const lines = new Map<string, { box: HTMLElement; words: HTMLElement; bar: HTMLProgressElement }>();

/** Shows one job on the status line for as long as it runs. */
function line(job: Job) {
  let l = lines.get(job.id);
  if (over(job)) {
    l?.box.remove();
    lines.delete(job.id);
    return;
  }
  if (!l) {
    const words = el("span", { class: "words" });
    const bar = el("progress", { "aria-label": `progress of ${workOf(job)}` });
    const stop = el("button", { type: "button", class: "quiet", click: () => api("POST", `/api/jobs/${job.id}/cancel`).catch(show) }, "Cancel");
    stop.setAttribute("aria-label", `Cancel the work on ${workOf(job)}`);
    l = { box: el("div", { class: "job" }, job.race ? el("span", {}, "race") : el("a", { href: job.shoot ? `/shoots/${encodeURIComponent(job.shoot)}` : `/launch/${encodeURIComponent(job.launch)}` }, job.shoot ?? job.launch), words, bar, stop), words, bar };
    lines.set(job.id, l);
    work.append(l.box);
  }
  l.words.textContent = stageOf(job);
  if (job.total > 0) {
    l.bar.max = job.total;
    l.bar.value = job.done;
  } else l.bar.removeAttribute("value");
}

function finished(job: Job) {
  if (job.state === "done") say(job.race ? "The race is drawn." : job.shoot ? `${job.shoot} is worked out.` : job.model ? `The model of ${job.launch} is fitted.` : `${job.launch} is measured.`);
  else if (job.state === "cancelled") say(`The work on ${workOf(job)} was cancelled.`);
  else if (job.problem) show(new Refusal(0, `${workOf(job)}: ${job.problem.message}`, job.problem.hint));
}

async function catchUp() {
  try {
    const { jobs } = await api<{ jobs: Job[] }>("GET", "/api/jobs");
    for (const id of [...lines.keys()]) if (!jobs.some((j) => j.id === id && !over(j))) lines.get(id)!.box.remove(), lines.delete(id);
    jobs.forEach(line);
  } catch (problem) {
    show(problem);
  }
}

function choosePaper() {
  const root = document.documentElement;
  const button = document.getElementById("paper")!;
  const name = () => (button.textContent = root.dataset.theme === "dark" ? "Light paper" : "Dark paper");
  button.addEventListener("click", () => {
    root.dataset.paper = root.dataset.theme === "dark" ? "light" : "dark";
    document.cookie = `padside-paper=${root.dataset.paper}; path=/; max-age=31536000; samesite=strict`;
    document.dispatchEvent(new CustomEvent("paperchosen"));
  });
  document.addEventListener("themechange", name);
  name();
}

let gone = false;
document.addEventListener("deskhere", (e) => {
  const here = (e as CustomEvent<boolean>).detail;
  if (!here && !gone) show(new Refusal(0, "padside does not answer", "start it again if it was ended; this page tries on"));
  if (here && gone) say("padside answers again.");
  gone = !here;
});

choosePaper();
watch((e) => {
  if (e.kind !== "job" || !e.job) return;
  line(e.job);
  if (over(e.job)) finished(e.job);
}, catchUp);
catchUp();
