// The list of marks: where each is on the reference, where in the frame, and what the scale has it off by.

import { el } from "../client/draw";
import { column, figure } from "../client/numbers";
import type { Loupe } from "./setuploupe";
import type { Sheet } from "./setupsheet";

const title = { rod: "Height on the rod", length: "End", plane: "Place on the plane" };

export function marksPart(sheet: Sheet, loupe: Loupe): HTMLElement {
  const box = el("div", { class: "marks" });
  let drawn = "";
  const draw = () => {
    const key = JSON.stringify([sheet.kind, sheet.spots.length]);
    if (key !== drawn) {
      drawn = key;
      box.replaceChildren(...(sheet.spots.length > 0 ? [table(sheet, loupe)] : []));
    }
    fill(box, sheet);
  };
  sheet.onChange(draw);
  return box;
}

function table(sheet: Sheet, loupe: Loupe): HTMLElement {
  return el(
    "table",
    {},
    el("caption", { class: "spoken" }, "Marks of the reference"),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "Mark"), el("th", { scope: "col" }, title[sheet.kind]), el("th", { scope: "col" }, "Off by, px"), el("td", {}))),
    el("tbody", {}, ...sheet.spots.map((_, i) => line(sheet, loupe, i))),
  );
}

function line(sheet: Sheet, loupe: Loupe, i: number): HTMLElement {
  const choose = el("button", { type: "button", class: "quiet", "aria-label": `Show mark ${i + 1} under the loupe`, click: () => { sheet.choose(i); loupe.focus(); } }, String(i + 1));
  const text = (of: "at" | "across", label: string) => {
    const input = el("input", { type: "text", class: of, size: 8, "aria-label": `${label} of mark ${i + 1}`, placeholder: "0.2 m", spellcheck: "false", autocomplete: "off" });
    input.addEventListener("input", () => {
      sheet.spots[i][of] = input.value;
      sheet.touch("scale");
    });
    input.addEventListener("focus", () => sheet.chosen === i || sheet.choose(i));
    return input;
  };
  const at = sheet.kind === "rod" ? [text("at", "Height")] : sheet.kind === "plane" ? [text("at", "Across"), text("across", "Up")] : [el("span", {}, i === 0 ? "one end" : "other end")];
  const remove = el("button", { type: "button", class: "quiet", "aria-label": `Remove mark ${i + 1}`, click: () => sheet.remove(i) }, "Remove");
  return el("tr", {}, el("th", { scope: "row" }, choose), el("td", { class: "at" }, ...at), el("td", { class: "off" }), el("td", {}, remove));
}

/** Writes the numbers into the rows, and the texts where nobody is writing. */
function fill(box: HTMLElement, sheet: Sheet) {
  box.querySelectorAll("tbody tr").forEach((tr, i) => {
    const s = sheet.spots[i];
    tr.classList.toggle("chosen", i === sheet.chosen);
    for (const of of ["at", "across"] as const) {
      const input = tr.querySelector<HTMLInputElement>(`input.${of}`);
      if (input && input !== document.activeElement && input.value !== s[of]) input.value = s[of];
    }
    const r = sheet.open ? undefined : sheet.setup.residuals?.[i];
    const f = r && figure(Math.hypot(r[0], r[1]).toFixed(2));
    tr.querySelector(".off")!.replaceChildren(f ? column(f, false) : "");
  });
}
