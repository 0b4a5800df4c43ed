// The sheet as it stands on the page: the chart at the right, what stands at the cursor in the margin at its left.

import { el } from "../client/draw";
import { magnifications } from "./address";
import { Chart } from "./chart";
import type { Edits } from "./edits";
import { Gestures } from "./gestures";
import { Loupe } from "./loupe";
import { instant, placeWords, Reading, spoken } from "./margin";
import type { Model } from "./model";

export class Sheet {
  readonly box: HTMLElement;
  private chart: Chart;
  private loupe: Loupe;
  private gestures: Gestures;
  private readings: Reading[];
  private time = el("div", { class: "time" });
  private frameOf = el("p", { class: "frame-of" });
  private zero = el("p", { class: "axis-of" });
  private words = el("p", { class: "place-words" });
  private x = el("input", { type: "number", step: 0.1, id: "place-x" });
  private y = el("input", { type: "number", step: 0.1, id: "place-y" });
  private magnified = el("select", { "aria-label": "How much the loupe enlarges" }, ...magnifications.map((n) => el("option", { value: n }, `${n} times`)));
  private unmark = el("button", { type: "button", class: "quiet" }, "Take mark away");

  constructor(
    private m: Model,
    private edits: Edits,
  ) {
    this.chart = new Chart(m);
    this.gestures = new Gestures(this.chart, m, () => edits.keepHeld(true));
    this.loupe = new Loupe(m, () => edits.keepHeld(false));
    this.readings = (["height", "speed", "acceleration"] as const).map((of) => new Reading(m, of));
    this.listen();
    this.box = this.build();
    m.onChange((part) => {
      if (!m.ready || part === "job") return;
      if (part === "view") this.renew();
      else if (part === "held") this.moved();
      else this.placed();
    });
  }

  private build(): HTMLElement {
    const { canvas } = this.chart;
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "slider");
    canvas.setAttribute("aria-label", "Time cursor on the sheet: frame");
    canvas.setAttribute("aria-describedby", "sheet-keys");
    const glass = this.loupe.canvas;
    glass.tabIndex = 0;
    glass.setAttribute("role", "application");
    glass.setAttribute("aria-label", "Loupe: place of the vehicle in this frame");
    glass.setAttribute("aria-describedby", "loupe-keys");
    const [height, speed, acceleration] = this.readings;
    return el(
      "section",
      { class: "sheet", "aria-label": "The flight on one axis of time" },
      el("div", { class: "at strip-at" }, el("div", { class: "instant" }, this.time, this.frameOf), this.steps()),
      el("div", { class: "at streak-at" }, height.box, glass, el("div", { class: "under" }, this.words, this.fields())),
      el("div", { class: "at speed-at" }, speed.box),
      el("div", { class: "at acceleration-at" }, acceleration.box),
      el("div", { class: "paper" }, canvas),
      el("div", { class: "foot" }, this.zero, this.zooms()),
      this.keys(),
    );
  }

  private step = (by: number) => () => (this.m.frame += by);

  private button = (text: string, click: () => void) => el("button", { type: "button", class: "quiet", click }, text);

  private steps = () =>
    el("div", { class: "steps", role: "group", "aria-label": "Step through the frames" }, this.button("Frame before", this.step(-1)), this.button("Frame after", this.step(1)));

  private zooms = () =>
    el(
      "div",
      { class: "zooms", role: "group", "aria-label": "Stretch of time shown" },
      this.button("Closer", () => this.gestures.zoom(2)),
      this.button("Wider", () => this.gestures.zoom(0.5)),
      this.button("Whole flight", () => (this.m.span = this.m.whole)),
      this.fit(),
    );

  private fit(): HTMLElement {
    const box = el("input", { type: "checkbox", id: "fit", checked: this.m.place.fit });
    box.addEventListener("change", () => {
      this.m.place.fit = box.checked;
      this.m.placed();
    });
    return el("label", { for: "fit" }, box, " Scales fit what is shown");
  }

  private fields = () =>
    el(
      "div",
      { class: "fields" },
      el("span", {}, el("label", { for: "place-x" }, "x"), this.x),
      el("span", {}, el("label", { for: "place-y" }, "y"), this.y, " px"),
      this.magnified,
      this.unmark,
    );

  private keys = () =>
    el(
      "details",
      { class: "keys" },
      el("summary", {}, "Keys and gestures"),
      el(
        "p",
        { id: "sheet-keys" },
        "On the sheet: click to set the cursor, drag to move along, turn the wheel to enlarge once the sheet was clicked, or pinch. Arrow keys step by a frame, with Shift by ten; + and − enlarge and reduce, 0 shows the whole flight, Home and End go to its ends. Drag the ring on the streak up or down to correct the trace there.",
      ),
      el(
        "p",
        { id: "loupe-keys" },
        "Under the loupe: drag the place, or nudge it by 0.1 px with the arrow keys, by 1 px with Shift. Page Up and Page Down go to the next frame and the one before. Delete takes a mark away. Ctrl+Z takes the last edit back, Ctrl+Shift+Z does it again.",
      ),
      el("p", {}, "On the streak a line is the trace, a lozenge was marked by hand, a square is doubtful, a cross at the foot is a frame without the vehicle; dotted lines are gates and speeds asked for, with the stretch of time in which each was passed."),
    );

  private listen() {
    const { m, edits } = this;
    const typed = () => {
      const [x, y] = [Number(this.x.value), Number(this.y.value)];
      if (!this.x.value || !this.y.value || !Number.isFinite(x) || !Number.isFinite(y)) return;
      m.hold(m.frame, x, y);
      edits.keepHeld(false);
    };
    this.x.addEventListener("input", typed);
    this.y.addEventListener("input", typed);
    const take = () => {
      this.loupe.canvas.focus();
      void edits.send({ do: "unmark", lane: m.place.lane, frame: m.frame });
    };
    this.unmark.addEventListener("click", take);
    this.loupe.canvas.addEventListener("keydown", (e) => {
      if ((e.key === "Delete" || e.key === "Backspace") && m.marked(m.frame)) take();
    });
    this.magnified.addEventListener("change", () => {
      m.place.magnified = Number(this.magnified.value);
      m.placed();
    });
  }

  private renew() {
    this.chart.renew();
    this.loupe.recentre();
    for (const r of this.readings) r.renew();
    this.placed();
  }

  /** The cursor, the stretch of time or the units changed. */
  private placed() {
    const { m, chart } = this;
    chart.draw();
    this.loupe.draw();
    for (const r of this.readings) r.renew();
    const { time, frame } = instant(m);
    this.time.textContent = time;
    this.frameOf.textContent = `from ${m.zeroWords}, in ${frame}`;
    this.zero.textContent = `milliseconds from ${m.zeroWords}`;
    this.magnified.value = String(m.place.magnified);
    chart.canvas.setAttribute("aria-valuemin", String(m.view.from));
    chart.canvas.setAttribute("aria-valuemax", String(m.view.to));
    chart.canvas.setAttribute("aria-valuenow", String(m.frame));
    chart.canvas.setAttribute("aria-valuetext", spoken(m));
    this.moved();
  }

  /** The place in this frame changed. */
  private moved() {
    const { m } = this;
    const at = m.where(m.frame);
    if (document.activeElement !== this.x) this.x.value = at.x.toFixed(1);
    if (document.activeElement !== this.y) this.y.value = at.y.toFixed(1);
    this.words.textContent = placeWords(m);
    this.unmark.hidden = !m.marked(m.frame);
    this.chart.draw();
    this.loupe.draw();
  }
}
