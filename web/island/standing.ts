// How far the launch is: not measured yet, being measured, failed, older than its file, changed elsewhere. In words, with
// what can be done about it.

import { el } from "../client/draw";
import { ended, upper } from "../client/numbers";
import { stageOf } from "../client/shell";
import type { Edits } from "./edits";
import type { Model } from "./model";

export class Standing {
  readonly box = el("div", { class: "standing", role: "region", "aria-label": "State of this launch" });
  private progress: { words: HTMLElement; bar: HTMLProgressElement } | null = null;
  private elsewhere = false;

  constructor(
    private m: Model,
    private edits: Edits,
    private showFollow: () => void,
  ) {
    edits.elsewhere = () => {
      this.elsewhere = true;
      this.renew();
    };
  }

  renew() {
    const { view } = this.m;
    if (view.state === "measuring" && view.job && this.progress?.words.isConnected && !this.elsewhere) return this.tick();
    this.progress = null;
    this.box.replaceChildren(...[this.other(), this.state()].filter((e) => e !== null));
    this.box.hidden = this.box.childElementCount === 0;
    if (this.progress) this.tick();
  }

  private other(): HTMLElement | null {
    if (!this.elsewhere) return null;
    const load = () => {
      this.elsewhere = false;
      this.m.held = null;
      void this.edits.reload();
    };
    return el(
      "p",
      { class: "warn" },
      "This launch was changed in another tab or by another program. Nothing was overwritten; what is unsaved here stays so. ",
      this.button("Show the launch as it is now", load),
    );
  }

  private button = (text: string, click: () => void, quiet = false) => el("button", { type: "button", class: quiet ? "quiet" : "", click }, text);

  private measure = (text: string) => this.button(text, () => void this.edits.measure());

  private state(): HTMLElement | null {
    const { view } = this.m;
    const setup = el("a", { href: `/setup/${encodeURIComponent(view.name)}` }, "Open its setup");
    const follow = this.button("Say what to follow", this.showFollow, true);
    switch (view.state) {
      case "new":
        return el("div", {}, el("p", {}, "Not measured yet. The vehicle is found by itself; the scale and the time base come from the setup."), el("p", { class: "deeds" }, this.measure("Measure this launch"), setup, follow));
      case "stale":
        return el("div", {}, el("p", {}, "The launch was changed after it was measured: the answers below belong to how it was before."), el("p", { class: "deeds" }, this.measure("Measure it again")));
      case "measuring":
        return this.measuring();
      case "failed": {
        const p = view.problem ?? view.job?.problem;
        const hint = p?.hint ? ` ${upper(ended(p.hint))}` : "";
        return el("div", {}, el("p", { class: "warn" }, el("strong", {}, upper(ended(p?.message ?? "Measuring failed"))), hint), el("p", { class: "deeds" }, this.measure("Try again"), setup, follow));
      }
      case "footage-changed":
      case "footage-missing": {
        const p = view.problem;
        const accept = this.button("Accept the answers all the same", () => void this.edits.accept(), true);
        const deeds = view.state === "footage-changed" ? [this.measure("Measure it again"), accept] : [accept];
        return el("div", {}, el("p", { class: "warn" }, el("strong", {}, upper(ended(p?.message ?? ""))), p?.hint ? ` ${upper(ended(p.hint))}` : ""), el("p", { class: "deeds" }, ...deeds));
      }
      case "measured":
        return view.footage_accepted ? el("p", { class: "warn" }, view.footage_accepted) : null;
    }
  }

  private measuring(): HTMLElement {
    const words = el("span", {});
    const bar = el("progress", { "aria-label": "progress of measuring" });
    this.progress = { words, bar };
    return el("p", { class: "deeds" }, words, bar, this.button("Stop measuring", () => void this.edits.cancel(), true));
  }

  private tick() {
    const { job } = this.m.view;
    const { words, bar } = this.progress!;
    words.textContent = job ? `Measuring: ${stageOf(job)}.` : "Measuring.";
    if (job && job.total > 0) {
      bar.max = job.total;
      bar.value = job.done;
    } else bar.removeAttribute("value");
  }
}
