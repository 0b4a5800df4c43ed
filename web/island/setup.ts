// The setup page: where the scale comes from, when each frame was taken, what the camera was.

import { api, launchPath, tab, watch } from "../client/desk";
import { el } from "../client/draw";
import { ended, unit, upper } from "../client/numbers";
import { say, show } from "../client/shell";
import { cameraPart, copyPart, scaleFields, timePart } from "./setupfields";
import { launchPart } from "./setuplaunch";
import { Loupe } from "./setuploupe";
import { marksPart } from "./setupmarks";
import { picturePart, pictureWidth } from "./setuppicture";
import { Sheet } from "./setupsheet";

const box = document.getElementById("setup")!;
const name = box.dataset.name!;
const sheet = new Sheet(name);

function build() {
  const loupe = new Loupe(sheet);
  const undo = el("button", { type: "button", class: "quiet", click: () => sheet.step("undo").catch(show) }, "Undo");
  const redo = el("button", { type: "button", class: "quiet", click: () => sheet.step("redo").catch(show) }, "Redo");
  const kept = el("p", { class: "kept", role: "status" });
  const says = el("ul", { class: "says" });
  const measure = el("button", { type: "button", class: "measure", click: () => start() }, "Measure this launch");
  const reference = el(
    "section",
    { class: "reference", "aria-label": "Reference" },
    picturePart(sheet),
    el("div", { class: "beside" }, el("h2", {}, "Reference"), scaleFields(sheet, "kind"), loupe.box, marksPart(sheet, loupe)),
    el("div", { class: "rest" }, scaleFields(sheet, "fields"), el("div", { class: "verdict", "aria-live": "polite" }, el("h2", {}, "What the scale says"), says)),
  );
  reference.style.setProperty("--picture", pictureWidth(sheet));
  box.append(
    el("div", { class: "steps" }, kept, undo, redo),
    reference,
    el("div", { class: "sections" }, launchPart(sheet), timePart(sheet), cameraPart(sheet), copyPart(sheet)),
    el("p", { class: "go" }, measure),
  );
  const tell = () => {
    kept.textContent = sheet.status();
    kept.classList.toggle("warn", sheet.refused !== "");
    undo.disabled = !sheet.view.can_undo || sheet.open;
    redo.disabled = !sheet.view.can_redo || sheet.open;
    undo.title = sheet.view.undo_what ? `${sheet.view.undo_what}` : "";
    redo.title = sheet.view.redo_what ? `${sheet.view.redo_what}` : "";
    const lines = [...(sheet.setup.problem ? [`${sheet.setup.problem.message}. ${upper(sheet.setup.problem.hint)}.`] : []), ...(sheet.setup.says ?? []), ...(sheet.setup.warnings ?? []).map((w) => w.message)];
    says.replaceChildren(...lines.map((l) => el("li", {}, upper(ended(unit(l))))));
    measure.disabled = sheet.open || sheet.spots.length < 2;
  };
  sheet.onChange(tell);
  sheet.changed();
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.key.toLowerCase() !== "z" || e.target instanceof HTMLInputElement) return;
    e.preventDefault();
    sheet.step(e.shiftKey ? "redo" : "undo").catch(show);
  });
}

async function start() {
  try {
    await sheet.keep();
    await api("POST", launchPath(name) + "/measure");
    location.href = `/launch/${encodeURIComponent(name)}`;
  } catch (problem) {
    show(problem);
  }
}

sheet.load().then(() => {
  build();
  sheet.takeDraft();
  // What was just changed is kept at once when the page is left or the lid closed.
  addEventListener("pagehide", () => sheet.keep().catch(() => {}));
  document.addEventListener("visibilitychange", () => document.hidden && sheet.keep().catch(() => {}));
  watch((e) => {
    if (e.kind !== "launch" || e.launch !== name || e.who === tab || e.revision === sheet.setup.revision) return;
    if (sheet.open) say("This setup was edited in another tab; what you change here will be refused until you take that over.", { label: "Show it", run: () => sheet.load().catch(show) });
    else sheet.load().then(() => e.who && say("This setup was edited in another tab; here is how it stands now."), show);
  }, () => sheet.open || sheet.load().catch(show));
}, show);
