// The form of a heat: what is raced on, under which rules, by which launches.

import { el } from "../client/draw";
import { unit } from "../client/numbers";
import type { Card } from "../client/types";
import type { Entry, Form, Rule } from "./heatview";

/** What can be raced on, and what belongs to it. */
const questions: { answer: string; words: string; at?: "speed" | "height"; like?: string }[] = [
  { answer: "time_to_speed", words: "time to a speed", at: "speed", like: "60 mph" },
  { answer: "gate_crossing", words: "time to a height", at: "height", like: "2 m" },
  { answer: "peak_speed", words: "peak speed in view" },
  { answer: "gate_speed", words: "speed at a height", at: "height", like: "2 m" },
  { answer: "mean_acceleration_to_speed", words: "mean acceleration to a speed", at: "speed", like: "60 mph" },
  { answer: "peak_acceleration", words: "peak acceleration" },
];

type Part = "is" | "within" | "least" | "most";

/** Ways to write a rule: which of its parts are filled in. */
const ways: { way: string; words: string; same: boolean; parts: [Part, string][] }[] = [
  { way: "same-within", words: "the same for all, within", same: true, parts: [["within", "10 mL"]] },
  { way: "is-within", words: "is", same: false, parts: [["is", "4.5 bar"], ["within", "0.2 bar"]] },
  { way: "most", words: "at most", same: false, parts: [["most", "150 g"]] },
  { way: "least", words: "at least", same: false, parts: [["least", "100 g"]] },
  { way: "between", words: "between", same: false, parts: [["least", "100 g"], ["most", "150 g"]] },
  { way: "reads", words: "reads", same: false, parts: [["is", "two litres"]] },
  { way: "same", words: "reads the same for all", same: true, parts: [] },
];

const between: Record<string, string> = { within: "within", most: "and" };

function wayOf(r: Rule) {
  const filled = (["is", "within", "least", "most"] as const).filter((p) => r[p]);
  return ways.find((w) => w.same === !!r.same && w.parts.length === filled.length && w.parts.every(([p]) => filled.includes(p)));
}

export class HeatForm {
  readonly box: HTMLFormElement;
  private rules = el("ol", { class: "rules" });
  private entries = el("ol", { class: "entered" });
  private at = el("input", { type: "text", id: "heat-at", size: 8, autocomplete: "off", spellcheck: "false" });
  private atBox = el("span", {}, el("label", { for: "heat-at", class: "spoken" }, "Which speed or height"), this.at);
  private more = el("select", { id: "heat-more" });
  private count = 0;

  constructor(
    private form: Form,
    private cards: Card[],
    words: string,
    done: (f: Form) => void,
  ) {
    const title = el("input", { type: "text", id: "heat-title", value: form.title, size: 32, autocomplete: "off", required: true, input: () => (form.title = title.value) });
    const date = el("input", { type: "text", id: "heat-date", value: form.date, size: 11, placeholder: "2026-05-16", autocomplete: "off", input: () => (form.date = date.value.trim()) });
    const answer = el("select", { id: "heat-answer", change: () => this.ask(answer.value) }, ...questions.map((q) => el("option", { value: q.answer, selected: q.answer === form.answer }, q.words)));
    this.at.addEventListener("input", () => (form[this.question().at!] = this.at.value.trim()));
    const keys = [...new Set([...cards.flatMap((c) => c.conditions.map((k) => k.key)), "vehicle", "setup"])];
    this.box = el(
      "form",
      { class: "heat-form", submit: (e: Event) => (e.preventDefault(), done(this.form)) },
      el("div", { class: "field" }, el("label", { for: "heat-title" }, "Title"), title),
      el("div", { class: "field" }, el("label", { for: "heat-date" }, "Date"), date),
      el("div", { class: "field" }, el("label", { for: "heat-answer" }, "Raced on"), answer, this.atBox),
      el("h3", {}, "Who races"),
      this.entries,
      cards.length === 0 && el("p", { class: "faint" }, "No launch yet: drop footage on the ", el("a", { href: "/" }, "logbook page"), ", and its launch can be entered here."),
      cards.length > 0 && el("div", { class: "field" }, el("label", { for: "heat-more" }, "A launch"), this.more, el("button", { type: "button", class: "quiet", click: () => this.enter(this.more.value) }, "Enter it")),
      el("h3", {}, "Rules"),
      el("p", { class: "faint" }, "Each holds a condition of the launches to what is allowed. Who breaks one is listed with the reason and has no place."),
      this.rules,
      el("datalist", { id: "heat-keys" }, ...keys.map((k) => el("option", { value: k }))),
      el("button", { type: "button", class: "quiet", click: () => this.addRule() }, "Add a rule"),
      el("p", { class: "deeds" }, el("button", { type: "submit" }, words)),
    );
    this.ask(form.answer || questions[0].answer);
    form.rules.forEach((r) => this.rules.append(this.rule(r)));
    this.drawEntries();
  }

  private question = () => questions.find((q) => q.answer === this.form.answer) ?? questions[0];

  private ask(answer: string) {
    this.form.answer = answer;
    const q = this.question();
    this.form.speed = q.at === "speed" ? this.form.speed : "";
    this.form.height = q.at === "height" ? this.form.height : "";
    this.atBox.hidden = !q.at;
    if (!q.at) return;
    this.form[q.at] ||= q.like!;
    this.at.value = this.form[q.at];
    this.at.placeholder = q.like!;
  }

  private addRule() {
    const r: Rule = { key: "", same: true, within: "" };
    this.form.rules.push(r);
    const row = this.rule(r);
    this.rules.append(row);
    row.querySelector("input")!.focus();
  }

  /** One rule: the condition, the way it is held to, and what belongs to that. */
  private rule(r: Rule): HTMLLIElement {
    const id = `rule-${++this.count}`;
    const key = el("input", { type: "text", id, value: r.key, size: 14, list: "heat-keys", placeholder: "water", autocomplete: "off", spellcheck: "false", input: () => (r.key = key.value.trim().replaceAll(" ", "_")) });
    const parts = el("span", { class: "parts" });
    const way = el("select", { id: `${id}-way`, change: () => fill(true) }, ...ways.map((w) => el("option", { value: w.way }, w.words)));
    const own = r.key ? wayOf(r) : ways[0];
    if (own) way.value = own.way;
    else if (r.key) way.prepend(el("option", { value: "", selected: true }, "as its file has it"));
    const fill = (changed: boolean) => {
      const w = ways.find((one) => one.way === way.value);
      parts.replaceChildren();
      if (!w) {
        parts.append(`${r.same ? "the same for all " : ""}${(["is", "within", "least", "most"] as const).filter((p) => r[p]).map((p) => `${p} ${r[p]}`).join(", ")}`);
        return;
      }
      r.same = w.same;
      for (const p of ["is", "within", "least", "most"] as const) if (!w.parts.some(([q]) => q === p)) delete r[p];
      w.parts.forEach(([p, like], i) => {
        const input = el("input", { type: "text", id: `${id}-${p}`, value: r[p] ?? "", size: 9, placeholder: like, autocomplete: "off", spellcheck: "false", input: () => (r[p] = input.value.trim()) });
        parts.append(el("label", { for: `${id}-${p}`, class: i === 0 ? "spoken" : "" }, i === 0 ? w.words : between[p]), input);
        if (changed && i === 0) input.focus();
      });
    };
    fill(false);
    const row = el("li", {}, el("label", { for: id, class: "spoken" }, "Condition"), key, el("label", { for: `${id}-way`, class: "spoken" }, "How it is held to"), way, parts);
    row.append(
      el("button", { type: "button", class: "quiet", "aria-label": "Drop this rule", click: () => {
        this.form.rules = this.form.rules.filter((one) => one !== r);
        row.remove();
      } }, "Drop"),
    );
    return row;
  }

  private enter(launch: string) {
    if (!launch) return;
    this.form.entries.push({ launch, lane: 0, number: "", name: "", conditions: [] });
    this.drawEntries();
    this.entries.lastElementChild?.querySelector("input")?.focus();
  }

  private drawEntries() {
    this.entries.replaceChildren(...this.form.entries.map((e, i) => this.entry(e, i)));
    const free = this.cards.filter((c) => !this.form.entries.some((e) => e.launch === c.name && e.lane === 0));
    this.more.replaceChildren(...free.map((c) => el("option", { value: c.name }, c.title || c.name)));
    const choose = this.more.parentElement;
    if (choose) choose.hidden = free.length === 0;
  }

  /** One entry: its launch, its number, its name; its lane where there are several. */
  private entry(e: Entry, i: number): HTMLLIElement {
    const card = this.cards.find((c) => c.name === e.launch);
    const text = (key: "number" | "name", label: string, size: number, like: string) => {
      const id = `entry-${i}-${key}`;
      const input = el("input", { type: "text", id, value: e[key], size, placeholder: like, autocomplete: "off", input: () => (e[key] = input.value.trim()) });
      return el("span", { class: "part" }, el("label", { for: id }, label), input);
    };
    const lanes = Math.max(e.lane, ...(card?.chief.map((c) => c.lane) ?? [0]));
    const lane = el("select", { id: `entry-${i}-lane`, change: () => (e.lane = Number(lane.value)) }, el("option", { value: 0 }, "each of them"), ...Array.from({ length: lanes }, (_, k) => el("option", { value: k + 1, selected: e.lane === k + 1 }, String(k + 1))));
    return el(
      "li",
      {},
      el("strong", {}, card?.title || e.launch),
      card && card.conditions.length > 0 && el("span", { class: "faint" }, card.conditions.slice(0, 4).map((k) => `${k.key.replaceAll("_", " ")} ${unit(k.text)}`).join(" · ")),
      el(
        "span",
        { class: "parts" },
        text("number", "No.", 4, String(i + 1)),
        text("name", "Name", 16, card?.vehicle || ""),
        lanes > 1 && el("span", { class: "part" }, el("label", { for: `entry-${i}-lane` }, "Lane"), lane),
        el("button", { type: "button", class: "quiet", "aria-label": `Take out ${card?.title || e.launch}`, click: () => {
          this.form.entries.splice(i, 1);
          this.drawEntries();
        } }, "Take out"),
      ),
      e.conditions.length > 0 && el("span", { class: "faint" }, `of its own: ${e.conditions.map((k) => `${k.key.replaceAll("_", " ")} ${unit(k.text)}`).join(" · ")}`),
    );
  }
}
