// What flew, when and how: the words by which a launch is found again, and the conditions that comparisons and models use.

import { el } from "../client/draw";
import type { Sheet } from "./setupsheet";

/** Conditions that padside knows, with an example each; others are kept and shown as they are written. */
const known: Record<string, string> = {
  water: "350 mL",
  pressure: "4.5 bar",
  dry_mass: "142(1) g",
  air_temperature: "18 degC",
  elevation: "40 m",
  latitude: "52.1 deg",
};

export function launchPart(sheet: Sheet): HTMLElement {
  const rows = el("div", { class: "conditions" });
  const add = el("button", { type: "button", class: "quiet" }, "Add a condition");
  add.addEventListener("click", () => {
    sheet.said.conditions.push({ key: "", text: "" });
    fill(rows, sheet);
    rows.querySelector<HTMLInputElement>(".condition:last-child input")?.focus();
  });
  let drawn = "";
  sheet.onChange(() => {
    const now = JSON.stringify(sheet.said.conditions);
    if (now === drawn || rows.contains(document.activeElement)) return;
    drawn = now;
    fill(rows, sheet);
  });
  return el(
    "section",
    { "aria-label": "The launch" },
    el("h2", {}, "The launch"),
    text(sheet, "title", "Title", "Heron, 350 mL at 4.5 bar"),
    text(sheet, "vehicle", "Vehicle", "Heron"),
    text(sheet, "date", "Date", "2026-05-16"),
    rows,
    el("p", {}, add),
    el("datalist", { id: "known-conditions" }, ...Object.keys(known).map((k) => el("option", { value: words(k) }))),
  );
}

function text(sheet: Sheet, key: "title" | "vehicle" | "date", label: string, like: string): HTMLElement {
  const id = `launch-${key}`;
  const input = el("input", { type: "text", id, placeholder: like, autocomplete: "off" });
  input.addEventListener("input", () => {
    sheet.said[key] = input.value.trim();
    sheet.touch("describe");
  });
  sheet.onChange(() => {
    if (input !== document.activeElement && input.value !== sheet.said[key]) input.value = sheet.said[key];
  });
  return el("div", { class: "field" }, el("label", { for: id }, label), input);
}

/** Draws the rows of conditions: a name, a value, and a button that takes it away. */
function fill(rows: HTMLElement, sheet: Sheet) {
  rows.replaceChildren(
    ...sheet.said.conditions.map((c, i) => {
      const key = el("input", { type: "text", class: "key", value: words(c.key), list: "known-conditions", placeholder: "water", "aria-label": `Name of condition ${i + 1}`, autocomplete: "off" });
      const value = el("input", { type: "text", class: "value", value: c.text, placeholder: known[c.key] ?? "", "aria-label": `Value of ${words(c.key) || `condition ${i + 1}`}`, autocomplete: "off", spellcheck: "false" });
      key.addEventListener("input", () => {
        c.key = key.value.trim().toLowerCase().replace(/[^a-z0-9]+/g, "_").replace(/^_|_$/g, "");
        value.placeholder = known[c.key] ?? "";
        value.setAttribute("aria-label", `Value of ${words(c.key)}`);
        if (c.text) sheet.touch("describe");
      });
      value.addEventListener("input", () => {
        c.text = value.value.trim();
        if (c.key) sheet.touch("describe");
      });
      const remove = el("button", { type: "button", class: "quiet", "aria-label": `Remove ${words(c.key) || `condition ${i + 1}`}` }, "Remove");
      remove.addEventListener("click", () => {
        sheet.said.conditions.splice(i, 1);
        fill(rows, sheet);
        sheet.touch("describe");
      });
      return el("div", { class: "condition" }, key, value, remove);
    }),
  );
}

const words = (key: string) => key.replaceAll("_", " ");
