// The shoots page: the shoots of the logbook, and a file to begin one with.

import { api, watch } from "../client/desk";
import { el } from "../client/draw";
import { upper } from "../client/numbers";
import { show } from "../client/shell";
import type { ShootCard } from "./planview";

const root = document.getElementById("shoots")!;
const list = el("section", { class: "shoot-list", "aria-label": "Shoots of this logbook" });

const path = (name: string) => `/shoots/${encodeURIComponent(name)}`;

function lines(shoots: ShootCard[]) {
  const line = (s: ShootCard) =>
    el(
      "li",
      {},
      el("a", { href: path(s.name) }, s.title),
      s.problem ? el("span", { class: "warn" }, upper(s.problem.message)) : el("span", { class: "faint" }, s.cameras === 1 ? "one camera" : `${s.cameras} cameras`),
    );
  list.replaceChildren(shoots.length > 0 ? el("ol", {}, ...shoots.map(line)) : el("p", {}, "No shoot yet. A shoot is thought out before anyone drives to the field: which camera mode, from where, in what light, and whether that footage could answer at all."));
}

const read = () => api<{ shoots: ShootCard[]; sample: string }>("GET", "/api/shoots");

async function start() {
  const { shoots, sample } = await read();
  const text = el("textarea", { id: "shoot-text", rows: 24, spellcheck: "false", autocomplete: "off" });
  text.value = sample;
  const make = (e: Event) => {
    e.preventDefault();
    api<{ name: string }>("POST", "/api/shoots", { text: text.value }).then(async ({ name }) => {
      await api("POST", `/api/shoots/${encodeURIComponent(name)}/plan`, {});
      location.href = path(name);
    }, show);
  };
  root.replaceChildren(list, el("section", { class: "new-shoot" }, el("h2", {}, "A new shoot"), el("form", { submit: make }, el("p", {}, el("label", { for: "shoot-text" }, "Its file: cameras, lens, place, light, reference, the motion that is expected, and what is asked")), text, el("p", {}, el("button", { type: "submit" }, "Plan this shoot")))));
  lines(shoots);
}

const again = () => read().then(({ shoots }) => lines(shoots), show);
watch((e) => e.kind === "shoot" && again(), again);
start().catch(show);
