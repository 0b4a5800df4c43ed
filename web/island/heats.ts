// The heats page: the heats of the logbook, and a form to make one.

import { api, watch } from "../client/desk";
import { el } from "../client/draw";
import { upper } from "../client/numbers";
import { show } from "../client/shell";
import type { Card } from "../client/types";
import { HeatForm } from "./heatform";
import type { Form, HeatCard } from "./heatview";

const root = document.getElementById("heats")!;
const list = el("section", { class: "heat-list", "aria-label": "Heats of this logbook" });

async function load() {
  const { heats } = await api<{ heats: HeatCard[] }>("GET", "/api/heats");
  const line = (h: HeatCard) =>
    el(
      "li",
      {},
      el("a", { href: `/heats/${encodeURIComponent(h.name)}` }, h.title),
      el("span", { class: "faint" }, h.problem ? "" : [h.date, `${h.entries} entries`].filter(Boolean).join(" · ")),
      h.problem && el("span", { class: "warn" }, upper(h.problem.message)),
    );
  list.replaceChildren(heats.length > 0 ? el("ol", {}, ...heats.map(line)) : el("p", {}, "No heat yet. A heat puts launches in order by one answer, under rules, with ties where their intervals cannot tell them apart."));
}

/** A heat of the launches that the address names, on what they are asked already. */
function fresh(cards: Card[]): Form {
  const chosen = new URLSearchParams(location.search).getAll("launch").filter((n) => cards.some((c) => c.name === n));
  const speed = cards.find((c) => chosen.includes(c.name) || chosen.length === 0)?.chief.find((k) => k.id === "time_to_speed")?.label.replace(/^time to /, "") ?? "";
  return { title: "", date: "", answer: "time_to_speed", speed, height: "", rules: [], entries: chosen.map((launch) => ({ launch, lane: 0, number: "", name: "", conditions: [] })) };
}

async function start() {
  const { launches } = await api<{ launches: Card[] }>("GET", "/api/logbook");
  const form = new HeatForm(fresh(launches), launches, "Make this heat", (f) => {
    api<{ name: string }>("POST", "/api/heats", f).then(({ name }) => (location.href = `/heats/${encodeURIComponent(name)}`), show);
  });
  root.replaceChildren(list, el("section", { class: "new-heat" }, el("h2", {}, "A new heat"), form.box));
  await load();
}

watch((e) => e.kind === "heat" && load().catch(show), () => load().catch(show));
start().catch(show);
