// The race of launches, on the compare page and on a heat's: their footage side by side from first motion on as a slowed clip, and the photo finish. Drawing
// takes a while: it is a job, shown here while it runs.

import { api, watch } from "../client/desk";
import { el } from "../client/draw";
import { over, show, stageOf } from "../client/shell";
import type { Job } from "../client/types";

interface RaceFile {
  width: number;
  height: number;
  rate_hz?: number;
  slow?: number;
}

interface Race {
  id: string;
  job: Job | null;
  ready: boolean;
  finish: string;
  clip: RaceFile | null;
  still: RaceFile | null;
  lines: { number: number; title: string; place: string; time: string; behind: string }[];
}

export class RaceSection {
  readonly box = el("section", { class: "race" });
  private finish = el("input", { type: "text", id: "race-finish", placeholder: "highest gate", size: 12, autocomplete: "off" });
  private slow = el("input", { type: "number", id: "race-slow", min: 0.1, step: "any", placeholder: "8 s in all", autocomplete: "off" });
  private asFilmed = el("input", { type: "checkbox", id: "race-scale" });
  private order = el("button", { type: "submit" }, "Draw the race");
  private state = el("div", { class: "race-state", "aria-live": "polite" });

  /** id is that of a race drawn before, or empty; known is told of every race that is asked for. */
  constructor(
    private names: string[],
    private id: string,
    private known: (id: string) => void,
  ) {
    const form = el(
      "form",
      {
        class: "choices",
        "aria-label": "How to race",
        submit: (e: Event) => {
          e.preventDefault();
          void this.start();
        },
      },
      el("span", { class: "choice" }, el("label", { for: "race-finish" }, "From first motion to"), this.finish),
      el("span", { class: "choice" }, el("label", { for: "race-slow" }, "Slowed, times"), this.slow),
      el("label", { for: "race-scale", class: "tick" }, this.asFilmed, " Each at its own scale"),
      this.order,
    );
    this.box.append(
      el("h2", {}, "Race"),
      el("p", { class: "faint" }, "The footage side by side, each counted from its own first motion, at the same metres per pixel, slowed; and a photo finish."),
      form,
      this.state,
    );
    watch(
      (e) => e.kind === "job" && e.job?.race === this.id && this.id !== "" && this.tick(e.job),
      () => this.id !== "" && void this.look(),
    );
    if (id) void this.look();
  }

  private async start() {
    this.order.disabled = true;
    try {
      this.take(await api<Race>("POST", "/api/races", { launches: this.names, finish: this.finish.value.trim(), slow: Number(this.slow.value) || 0, as_filmed: this.asFilmed.checked }));
    } catch (problem) {
      this.order.disabled = false;
      show(problem);
    }
  }

  private async look() {
    try {
      this.take(await api<Race>("GET", `/api/races/${this.id}`));
    } catch (problem) {
      show(problem);
    }
  }

  private take(race: Race) {
    this.id = race.id;
    this.known(race.id);
    if (race.ready) this.result(race);
    else if (race.job) this.tick(race.job);
  }

  private tick(job: Job) {
    this.order.disabled = !over(job);
    if (job.state === "done") return void this.look();
    if (over(job)) return this.state.replaceChildren(); // the status line says why
    const bar = el("progress", job.total > 0 ? { max: job.total, value: job.done, "aria-label": "progress of the race" } : { "aria-label": "progress of the race" });
    const stop = el("button", { type: "button", class: "quiet", click: () => api("POST", `/api/jobs/${job.id}/cancel`).catch(show) }, "Stop drawing");
    this.state.replaceChildren(el("p", { class: "deeds" }, el("span", {}, stageOf(job)), bar, stop));
  }

  private result(race: Race) {
    this.order.disabled = false;
    const at = `/api/races/${race.id}`;
    const { clip, still } = race;
    const places = race.lines.map((l) => el("li", {}, el("span", { class: "place" }, l.place || "–"), el("span", {}, `${l.number} ${l.title}: ${l.time}${l.behind ? `, ${l.behind} behind` : ""}`)));
    this.state.replaceChildren(
      el("h3", {}, `First motion to ${race.finish}`),
      el("ol", { class: "finish" }, ...places),
      ...(clip === null ? [el("p", {}, "The clip could not be drawn.")] : [this.clip(at, clip)]),
      ...(still === null ? [el("p", {}, "The photo finish could not be drawn.")] : [this.still(at, still, race.lines.length)]),
    );
  }

  private clip(at: string, clip: RaceFile) {
    const save = el("a", { href: `${at}/race.mp4`, download: "race.mp4" }, "Save the clip");
    return el("figure", {}, ...film(`${at}/race.mp4`, clip), el("figcaption", {}, `Slowed ${clip.slow} times. `, save));
  }

  private still(at: string, still: RaceFile, launches: number) {
    const src = `${at}/photo-finish.png`;
    const picture = el("img", { src, width: still.width, height: still.height, alt: `Photo finish: the streaks of ${launches} launches under each other on one axis of time` });
    const save = el("a", { href: src, download: "photo-finish.png" }, "Save the picture");
    return el("figure", {}, el("a", { class: "wide", href: src }, picture), el("figcaption", {}, "Photo finish: time to the right from each launch's own first motion, height up. ", save));
  }
}

/** The clip with what moves it: run and stop, a frame back and on, and a rule to any place in it. */
function film(src: string, f: RaceFile): HTMLElement[] {
  const frame = 1 / (f.rate_hz ?? 30);
  const video = el("video", { src, muted: true, playsinline: true, preload: "auto", width: f.width, height: f.height, "aria-label": `The launches side by side, slowed ${f.slow} times` });
  video.muted = true;
  const run = el("button", { type: "button", click: () => void (video.paused ? video.play().catch(show) : video.pause()) }, "Run");
  const step = (by: number, words: string) =>
    el("button", { type: "button", class: "quiet", click: () => (video.pause(), (video.currentTime = Math.min(Math.max(0, video.currentTime + by * frame), video.duration))) }, words);
  const rule = el("input", {
    type: "range",
    min: 0,
    max: 1,
    step: frame,
    value: 0,
    "aria-label": "place in the clip",
    input: () => {
      video.pause();
      video.currentTime = Number(rule.value);
    },
  });
  const follow = () => {
    if (document.activeElement !== rule || !video.paused) rule.value = String(video.currentTime);
    rule.setAttribute("aria-valuetext", `${video.currentTime.toFixed(1)} s of ${video.duration.toFixed(1)} s`);
  };
  video.addEventListener("loadedmetadata", () => ((rule.max = String(video.duration)), follow()));
  video.addEventListener("timeupdate", follow);
  video.addEventListener("seeked", follow);
  for (const e of ["play", "pause", "ended"]) video.addEventListener(e, () => (run.textContent = video.paused ? "Run" : "Stop"));
  video.addEventListener("click", () => run.click());
  return [video, el("div", { class: "deeds film" }, run, step(-1, "A frame back"), step(1, "A frame on"), rule)];
}
