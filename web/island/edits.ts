// Edits of the launch: sent one after the other, each on the revision the page shows, so that nothing is overwritten unseen.

import { api, launchPath, Refusal, tab, watch } from "../client/desk";
import { over, say, show } from "../client/shell";
import { unitQuery } from "./address";
import type { Model } from "./model";
import type { Job } from "../client/types";
import type { Change, View } from "./view";

/** A run of nudges is one edit once the hand rests so long, ms. */
const rest = 500;

export class Edits {
  /** Called when another tab or program changed the launch: from then on this page waits for the reader to load it. */
  elsewhere: () => void = () => {};
  private apart = false;
  private line: Promise<void> = Promise.resolve();
  private waiting = 0;
  private timer: number | undefined;

  constructor(private m: Model) {
    m.leaving = () => this.flush();
    addEventListener("pagehide", () => this.leave());
    watch(
      (e) => {
        if (e.kind === "launch" && e.launch === m.view.name) this.changed(e.who ?? "", e.revision ?? "");
        if (e.kind === "job" && e.job?.launch === m.view.name) this.worked(e.job);
      },
      () => {
        if (!this.apart) void this.reload();
      },
    );
  }

  /** Whether something is under way that the desk does not have yet. */
  get busy(): boolean {
    return this.waiting > 0 || this.timer !== undefined;
  }

  private path = (what: string) => `${launchPath(this.m.view.name)}${what}${unitQuery(this.m.place.units)}`;

  /** Reads the launch afresh. */
  async reload() {
    this.apart = false;
    try {
      this.m.take(await api<View>("GET", this.path("")));
    } catch (problem) {
      show(problem);
    }
  }

  send(...changes: Change[]): Promise<boolean> {
    return this.post("/edits", () => ({ base: this.m.view.revision, changes }));
  }

  undo = () => this.post("/undo", () => ({ base: this.m.view.revision }));
  redo = () => this.post("/redo", () => ({ base: this.m.view.revision }));

  /** Saves the place that is held, once the hand rests. */
  keepHeld(now: boolean) {
    clearTimeout(this.timer);
    const save = () => {
      this.timer = undefined;
      const h = this.m.held;
      if (h) void this.send({ do: "mark", lane: h.lane, frame: h.frame, x: h.x, y: h.y });
    };
    if (now) save();
    else this.timer = setTimeout(save, rest);
  }

  /** Saves at once what waits for the hand to rest. */
  private flush() {
    if (this.timer !== undefined) this.keepHeld(true);
  }

  /** The page goes away before the hand has rested: what it holds is sent without waiting for an answer. */
  private leave() {
    const h = this.m.held;
    if (this.timer === undefined || !h) return;
    clearTimeout(this.timer);
    this.timer = undefined;
    const change: Change = { do: "mark", lane: h.lane, frame: h.frame, x: h.x, y: h.y };
    const body = JSON.stringify({ base: this.m.view.revision, changes: [change] });
    navigator.sendBeacon(this.path("/edits"), new Blob([body], { type: "application/json" }));
  }

  private post(what: string, body: () => unknown): Promise<boolean> {
    this.waiting++;
    const turn = this.line.then(async () => {
      try {
        const v = await api<View>("POST", this.path(what), body());
        this.waiting--;
        // More nudges came meanwhile: what is held stays in the hand.
        const held = this.timer === undefined && this.waiting === 0 ? null : this.m.held;
        this.m.take(v);
        if (held) {
          this.m.held = held;
          this.m.tell("held");
        } else this.tellChief(v);
        return true;
      } catch (problem) {
        this.waiting--;
        if (problem instanceof Refusal && problem.status === 409) this.leftBehind();
        else {
          this.m.held = null;
          this.m.tell("held");
        }
        show(problem);
        return false;
      }
    });
    this.line = turn.then(() => {});
    return turn;
  }

  private tellChief(v: View) {
    const chief = v.answers.find((a) => a.id === "time_to_speed" && a.value !== undefined) ?? v.answers.find((a) => a.value !== undefined);
    if (v.state === "measured" && chief) say(chief.sentence);
  }

  /** Says that the answers count although the footage changed or went. */
  async accept() {
    try {
      await api("POST", `${launchPath(this.m.view.name)}/footage/accept`, {});
      await this.reload();
    } catch (problem) {
      show(problem);
    }
  }

  async measure() {
    this.flush();
    await this.line;
    try {
      this.m.view.job = await api("POST", `${launchPath(this.m.view.name)}/measure`, {});
      this.m.view.state = "measuring";
      this.m.tell("job");
    } catch (problem) {
      show(problem);
    }
  }

  async cancel() {
    try {
      if (this.m.view.job) await api("POST", `/api/jobs/${this.m.view.job.id}/cancel`);
    } catch (problem) {
      show(problem);
    }
  }

  private leftBehind() {
    this.apart = true;
    this.elsewhere();
  }

  private changed(who: string, revision: string) {
    if (who === tab || revision === "" || this.busy || this.apart) return;
    if (revision === this.m.view.revision) void this.reload(); // the same file, measured
    else this.leftBehind();
  }

  private worked(job: Job) {
    if (this.apart) return;
    this.m.view.job = job;
    if (over(job)) {
      if (!this.busy) void this.reload();
    } else {
      this.m.view.state = "measuring";
      this.m.tell("job");
    }
  }
}
