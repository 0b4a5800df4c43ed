// What is written and not placed: distances, times, the camera. Each field is a quantity with its unit, as in the launch file.

import { api, launchPath } from "../client/desk";
import { el } from "../client/draw";
import { ended, upper } from "../client/numbers";
import { say, show } from "../client/shell";
import type { Card } from "../client/types";
import type { Kind, SetupView, Sheet } from "./setupsheet";

interface Field {
  key: string;
  label: string;
  like: string; // an example, shown while the field is empty
  why: string;
  number?: boolean; // a bare number in the file
  choices?: [value: string, text: string][]; // what it can be, the first for not stated
  only?: (sheet: Sheet) => boolean;
}

type Section = "scale" | "time" | "camera";

const scale: Field[] = [
  { key: "length", label: "Its length", like: "1.20(1) m", why: "with its standard uncertainty in the last digits, in brackets", only: (s) => s.kind === "length" },
  { key: "rod_range", label: "Camera to rod", like: "8.00(2) m", why: "distance along the view", only: (s) => s.kind === "rod" },
  { key: "flight_range", label: "Camera to flight line", like: "8.15(5) m", why: "without both distances the scale is good to 3 % only", only: (s) => s.kind === "rod" },
  { key: "mark_uncertainty", label: "A mark is good to", like: "0.5 px", why: "standard uncertainty of one mark" },
  { key: "lean", label: "Flight leaned by", like: "0(2) deg", why: "out of the plane of view, away from the camera; left empty, the vehicle's length in the picture tells it where it can" },
];

const time: Field[] = [
  { key: "rate", label: "True capture rate", like: "1600 Hz", why: "what the camera filmed at, not what it plays at", only: (s) => s.setup.time.basis === "rate" },
  { key: "exposure", label: "Exposure", like: "1/8000 s", why: "the picture is centred half an exposure after its stamp; left empty, it is read from the blur if that can tell" },
  { key: "shutter", label: "Shutter", like: "", choices: [["", "not known"], ["global", "global: all rows at once"], ["rolling", "rolling: row after row"]], why: "if it is not known, every speed and time is less certain; a phone held upright reads sideways, and then it hardly matters" },
  { key: "row_time", label: "Delay per row", like: "10.0(4) us", why: "of a rolling shutter: from one of the sensor's rows to the next (of a turned picture they may be columns)" },
];

const camera: Field[] = [
  { key: "focal_length", label: "Focal length", like: "16 mm", why: "of the lens, not the 35 mm equivalent" },
  { key: "pixel_pitch", label: "Pixel pitch", like: "5.86 um", why: "width of the sensor divided by the px across it" },
  { key: "tilt", label: "Tilt", like: "7(1) deg", why: "upwards is positive" },
  { key: "k1", label: "Distortion k1", like: "0", why: "radial term of the lens", number: true },
  { key: "k2", label: "Distortion k2", like: "0", why: "", number: true },
];

/** One labelled field of a section. */
function field(sheet: Sheet, section: Section, f: Field): HTMLElement {
  const id = `${section}-${f.key}`;
  const input = f.choices
    ? el("select", { id, "aria-describedby": f.why ? `${id}-why` : "" }, ...f.choices.map(([value, text]) => el("option", { value }, text)))
    : el("input", { type: "text", id, size: 12, placeholder: f.like, spellcheck: "false", autocomplete: "off", "aria-describedby": f.why ? `${id}-why` : "" });
  if (!f.why) input.removeAttribute("aria-describedby");
  const row = el("div", { class: "field" }, el("label", { for: id }, f.label), input, f.why ? el("span", { class: "why", id: `${id}-why` }, f.why) : null);
  input.addEventListener("input", () => {
    const text = input.value.trim();
    const n = Number(text);
    sheet.setup[section][f.key] = f.number && text !== "" && Number.isFinite(n) ? n : text;
    sheet.touch(section);
  });
  sheet.onChange(() => {
    row.hidden = f.only ? !f.only(sheet) : false;
    const now = String(sheet.setup[section][f.key] ?? "");
    if (input !== document.activeElement && input.value !== now) input.value = now;
  });
  return row;
}

/** What kind the reference is, or the fields that belong to it. */
export function scaleFields(sheet: Sheet, part: "kind" | "fields"): HTMLElement {
  if (part === "fields") return el("div", { class: "fields" }, ...scale.map((f) => field(sheet, "scale", f)));
  const kinds: [Kind, string][] = [["rod", "a rod with marks"], ["length", "an object of known length"], ["plane", "known points on a plane"]];
  const select = el("select", { id: "kind" }, ...kinds.map(([value, text]) => el("option", { value }, text)));
  select.addEventListener("change", () => {
    sheet.kind = select.value as Kind;
    sheet.spots = sheet.kind === "length" ? sheet.spots.slice(0, 2) : sheet.spots;
    sheet.chosen = Math.min(sheet.chosen, sheet.spots.length - 1);
    sheet.touch("scale");
  });
  sheet.onChange(() => (select.value = sheet.kind));
  return el("p", { class: "field" }, el("label", { for: "kind" }, "The scale comes from"), select);
}

export function timePart(sheet: Sheet): HTMLElement {
  const bases: [string, string][] = [["", "the file's own times"], ["container", "a clip's stamps, which are real time"], ["rate", "a constant rate that I know"], ["exif", "the times in the stills' own data"], ["list", "a list in the launch file"]];
  const select = el("select", { id: "basis" }, ...bases.map(([value, text]) => el("option", { value }, text)));
  select.addEventListener("change", () => {
    sheet.setup.time.basis = select.value;
    if (select.value !== "rate") sheet.setup.time.rate = "";
    sheet.touch("time");
  });
  const says = el("ul", { class: "says", "aria-live": "polite" });
  sheet.onChange(() => {
    const { time_problem: problem, time_says } = sheet.setup;
    const wrong = problem ? [el("li", { class: "warn" }, `${upper(ended(problem.message))} ${upper(ended(problem.hint))}`)] : [];
    says.replaceChildren(...wrong, ...(time_says ?? []).map((l) => el("li", {}, upper(ended(l)))));
    const basis = String(sheet.setup.time.basis ?? "");
    select.value = basis;
    // A list is written in the file; it is shown where it is the case and cannot be chosen here.
    (select.lastElementChild as HTMLOptionElement).hidden = basis !== "list";
  });
  return el(
    "section",
    { "aria-label": "Time base" },
    el("h2", {}, "Time base"),
    el("div", { class: "field" }, el("label", { for: "basis" }, "Frames were taken at"), select, el("span", { class: "why" }, "slow motion plays slower than it was filmed: state its rate")),
    ...time.map((f) => field(sheet, "time", f)),
    says,
  );
}

export function cameraPart(sheet: Sheet): HTMLElement {
  return el("section", { "aria-label": "Camera" }, el("h2", {}, "Camera"), el("p", { class: "why" }, "Not needed; it improves the scale where the camera was tilted or the lens bends lines."), ...camera.map((f) => field(sheet, "camera", f)));
}

/** One setup serves many launches: it can be taken over from another launch, and named. */
export function copyPart(sheet: Sheet): HTMLElement {
  const select = el("select", { id: "from" });
  const take = el("button", { type: "button", class: "quiet" }, "Take it over");
  const shared = el("p", { class: "why" });
  const named = el("input", { type: "text", id: "setup-name", size: 16, placeholder: "north-mast", autocomplete: "off", spellcheck: "false" });
  const name = el("button", { type: "button", class: "quiet", click: () => describe(sheet, named.value) }, "Name it");
  const share = el("button", { type: "button", class: "quiet", click: () => give(sheet, named.value) }, "Give them to the setup");
  const where = el("p", { class: "why" });
  take.addEventListener("click", () => copy(sheet, select.value));
  api<{ launches: Card[] }>("GET", "/api/logbook").then(({ launches }) => {
    const others = launches.filter((c) => c.name !== sheet.name);
    select.append(...others.map((c) => el("option", { value: c.name }, c.title || c.name)));
    if (others.length === 0) select.parentElement!.hidden = true;
  }, show);
  sheet.onChange(() => {
    if (named !== document.activeElement) named.value = sheet.setup.setup;
    const others = (sheet.setup.shared_by ?? []).filter((n) => n !== sheet.name);
    const own = (sheet.setup.own ?? []).map((s) => ({ time: "time base", scale: "scale", camera: "camera" })[s] ?? s);
    where.textContent = !sheet.setup.setup
      ? "Scale, time base and camera can be the setup's instead of this launch's: then they are marked once, and every launch that names the setup takes them."
      : own.length > 0
        ? `This launch has its own ${list(own)}. They can serve every launch that names the setup and has none of its own.`
        : "All of this comes from the setup. What is changed here becomes this launch's own.";
    share.hidden = own.length === 0;
    shared.textContent = sheet.setup.setup
      ? `Launches of one setup share its errors, which cancel where they are compared.${others.length > 0 ? ` It is shared with ${others.join(", ")}.` : ""}`
      : "Launches filmed without touching camera or reference belong to one setup: give it the same name in each, and what they share cancels where they are compared.";
  });
  return el(
    "section",
    { "aria-label": "Setup of several launches" },
    el("h2", {}, "One setup, many launches"),
    shared,
    el("div", { class: "field" }, el("label", { for: "setup-name" }, "Its name"), named, name, share),
    where,
    el("div", { class: "field" }, el("label", { for: "from" }, "The same as in"), select, take),
  );
}

async function describe(sheet: Sheet, setup: string) {
  try {
    await sheet.keep();
    await api("POST", launchPath(sheet.name) + "/edits", { base: sheet.setup.revision, changes: [{ do: "describe", values: { setup: setup.trim() } }] });
    await sheet.load();
    say(setup.trim() ? `This launch belongs to the setup ${setup.trim()}.` : "This launch belongs to no setup.");
  } catch (problem) {
    show(problem);
  }
}

const list = (words: string[]) => words.join(", ").replace(/, ([^,]*)$/, " and $1");

/** Gives scale, time base and camera of this launch to the setup. */
async function give(sheet: Sheet, setup: string) {
  try {
    await sheet.keep();
    await api("POST", launchPath(sheet.name) + "/share", { base: sheet.setup.revision, setup: setup.trim() });
    await sheet.load();
    say(`Scale, time base and camera are those of the setup ${setup.trim()} now. Undo brings this launch's own back.`);
  } catch (problem) {
    show(problem);
  }
}

/** Takes over scale, time base and camera of another launch, and its setup's name. */
async function copy(sheet: Sheet, from: string) {
  if (!from) return;
  try {
    await sheet.keep();
    const other = await api<SetupView>("GET", launchPath(from) + "/setup");
    const changes: unknown[] = (["scale", "time", "camera"] as const).filter((s) => Object.keys(other[s]).length > 0).map((s) => ({ do: s, values: other[s] }));
    if (other.setup) changes.push({ do: "describe", values: { setup: other.setup } });
    if (changes.length === 0) {
      say("That launch has no setup yet.");
      return;
    }
    await api("POST", launchPath(sheet.name) + "/edits", { base: sheet.setup.revision, changes });
    await sheet.load();
    say("The setup was taken over. Undo brings back what was here.");
  } catch (problem) {
    show(problem);
  }
}
