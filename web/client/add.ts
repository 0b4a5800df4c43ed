// New launches: dropped on the page, chosen from a list of files, or named by their path.

import { api, Refusal } from "./desk";
import { el } from "./draw";
import { bytes } from "./numbers";
import { say, show } from "./shell";
import { Batch, batches, filesOf, sendBatch } from "./upload";

/** The part of the page that takes new footage. added is told the names of new launches once all were sent. */
export function addPart(added: (names: string[]) => void): HTMLElement {
  const list = el("ul", { class: "sending", "aria-label": "Footage on its way" });
  const take = taker(list, added);
  const chooser = el("input", { type: "file", multiple: true, accept: "video/*,image/*", class: "spoken", tabindex: "-1", "aria-label": "Footage to add", id: "chooser" });
  chooser.addEventListener("change", () => {
    take([...(chooser.files ?? [])]);
    chooser.value = "";
  });
  onDrop(take);
  const form = pathForm(added);
  const other = el("button", { type: "button", class: "inline", "aria-expanded": "false" }, "name its path");
  other.addEventListener("click", () => {
    form.hidden = !form.hidden;
    other.setAttribute("aria-expanded", String(!form.hidden));
    if (!form.hidden) form.querySelector("input")!.focus();
  });
  return el(
    "section",
    { class: "add", "aria-label": "New launch" },
    el(
      "p",
      {},
      el("strong", {}, "New launch: "),
      "drop a clip or a set of stills anywhere on this page, ",
      el("button", { type: "button", class: "inline", click: () => chooser.click() }, "choose the files"),
      " or ",
      other,
      ".",
      chooser,
    ),
    form,
    list,
  );
}

/** Takes files in, one batch after another, so that a slow disk is not asked for several at once. */
function taker(list: HTMLUListElement, added: (names: string[]) => void) {
  let queue: Promise<void> = Promise.resolve();
  let under = 0;
  let names: string[] = [];
  const leave = (e: Event) => e.preventDefault();
  return (files: File[]) => {
    const { list: all, left } = batches(files);
    if (all.length === 0) {
      say("There was no file in what was dropped.");
      return;
    }
    if (left > 0) say(`${left} ${left === 1 ? "file that is" : "files that are"} no footage ${left === 1 ? "was" : "were"} left out.`);
    if (under === 0) addEventListener("beforeunload", leave);
    under += all.length;
    for (const b of all) {
      const item = sending(b);
      list.append(item.box);
      queue = queue.then(async () => {
        const name = await item.run();
        if (name) names.push(name);
        if (--under > 0) return;
        removeEventListener("beforeunload", leave);
        if (names.length > 0) added(names);
        names = [];
      });
    }
  };
}

/** One batch on its way: its name, how far it is, cancel; after a failure what was wrong, and another try. */
function sending(b: Batch) {
  const stop = new AbortController();
  const title = b.files.length > 1 ? `${b.title} and ${b.files.length - 1} more` : b.files[0].name;
  const bar = el("progress", { max: 1, value: 0, "aria-label": `sent of ${title}` });
  const words = el("span", { class: "words" }, "waiting");
  const cancel = el("button", { type: "button", class: "quiet", "aria-label": `Cancel ${title}`, click: () => stop.abort() }, "Cancel");
  const box = el("li", {}, el("span", { class: "what" }, title), bar, words, cancel);
  const progress = (sent: number, total: number) => {
    bar.value = total > 0 ? sent / total : 0;
    words.textContent = sent < total ? `${bytes(sent)} of ${bytes(total)}` : "taking it into the logbook";
  };
  const run = async (): Promise<string | undefined> => {
    try {
      const name = await sendBatch(b, progress, stop.signal);
      box.remove();
      return name;
    } catch (problem) {
      if (stop.signal.aborted) {
        box.remove();
        say(`${title} was cancelled; nothing of it was kept.`);
        return undefined;
      }
      bar.remove();
      words.textContent = problem instanceof Refusal ? `${problem.message}. ${problem.hint}.` : String(problem);
      words.classList.add("warn");
      cancel.textContent = "Dismiss";
      cancel.setAttribute("aria-label", `Dismiss ${title}`);
      cancel.onclick = () => box.remove();
      show(problem);
      return undefined;
    }
  };
  return { box, run };
}

function pathForm(added: (names: string[]) => void): HTMLFormElement {
  const input = el("input", { type: "text", id: "path", size: 40, autocomplete: "off", spellcheck: "false", required: true });
  const button = el("button", { type: "submit" }, "Add");
  const form = el(
    "form",
    { class: "by-path", hidden: true },
    el("label", { for: "path" }, "Path of a clip, of a folder of stills, or a pattern such as IMG_*.jpg; it stays where it is"),
    el("div", {}, input, button),
  );
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    button.disabled = true;
    say("Reading the footage.");
    try {
      const { name } = await api<{ name: string }>("POST", "/api/launches", { path: input.value.trim() });
      input.value = "";
      added([name]);
    } catch (problem) {
      show(problem);
      input.focus();
    } finally {
      button.disabled = false;
    }
  });
  return form;
}

function onDrop(take: (files: File[]) => void) {
  const root = document.documentElement;
  const holds = (e: DragEvent) => e.dataTransfer?.types.includes("Files") ?? false;
  addEventListener("dragover", (e) => {
    if (!holds(e)) return;
    e.preventDefault();
    e.dataTransfer!.dropEffect = "copy";
    root.classList.add("dropping");
  });
  addEventListener("dragleave", (e) => {
    if (e.relatedTarget === null) root.classList.remove("dropping");
  });
  addEventListener("drop", (e) => {
    root.classList.remove("dropping");
    if (!holds(e)) return;
    e.preventDefault();
    filesOf(e.dataTransfer!).then(take, show);
  });
}
