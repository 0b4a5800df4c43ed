// Asking for other speeds and gates.

import { el } from "../client/draw";
import type { Edits } from "./edits";
import type { Model } from "./model";

const split = (text: string) => text.split(/[,;]/).map((s) => s.trim()).filter(Boolean);

/** The form; it keeps what is being typed when a new view comes in. */
export class Ask {
  readonly form: HTMLFormElement;
  private speeds = el("input", { type: "text", id: "ask-speeds", autocomplete: "off", "aria-describedby": "ask-how", size: 34 });
  private gates = el("input", { type: "text", id: "ask-gates", autocomplete: "off", "aria-describedby": "ask-how", size: 34 });
  private was = "";

  constructor(
    private m: Model,
    edits: Edits,
  ) {
    this.form = el(
      "form",
      { class: "ask", "aria-label": "Ask for other speeds and gates" },
      el("h2", {}, "Ask for other speeds and gates"),
      el("p", {}, el("label", { for: "ask-speeds" }, "How soon it reached these speeds"), this.speeds),
      el("p", {}, el("label", { for: "ask-gates" }, "When, and how fast, it passed these heights above rest"), this.gates),
      el("p", { class: "faint", id: "ask-how" }, "Each with its unit, a comma between: 60 mph, 100 km/h; 0.5 m, 3 ft."),
      el("button", { type: "submit" }, "Answer these"),
    );
    this.form.addEventListener("submit", (e) => {
      e.preventDefault();
      void edits.send({ do: "ask", speeds: split(this.speeds.value), gates: split(this.gates.value) });
    });
  }

  renew() {
    const { speeds, gates } = this.m.view.questions;
    const now = JSON.stringify([speeds, gates]);
    if (now === this.was) return;
    this.was = now;
    this.speeds.value = speeds.join(", ");
    this.gates.value = gates.join(", ");
  }
}
