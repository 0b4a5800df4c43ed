// The board looks again when it is told that something changed, and by itself where nobody tells it.
(() => {
  const again = 20000;
  let busy = false;
  let due = false;
  const said = (text) => (document.getElementById("state").textContent = text);
  const clock = () => new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit" });
  let seen = clock();

  async function look() {
    if (busy) return void (due = true);
    busy = true;
    try {
      const got = await fetch(location.href, { cache: "no-store" });
      if (!got.ok) throw new Error(String(got.status));
      const page = new DOMParser().parseFromString(await got.text(), "text/html");
      const fresh = document.adoptNode(page.getElementById("board"));
      const old = document.getElementById("board");
      seen = clock();
      if (fresh.dataset.mark !== old.dataset.mark) {
        const before = new Map([...old.querySelectorAll("[data-entry]")].map((e) => [e.dataset.entry, e.textContent]));
        for (const e of fresh.querySelectorAll(".entry")) if (before.get(e.dataset.entry) !== e.textContent) e.classList.add("fresh");
        old.replaceWith(fresh);
        document.title = page.title;
        said(`Changed at ${seen}.`);
      } else said("");
    } catch {
      said(`Not reached since ${seen}: what stands here may be old.`);
    }
    busy = false;
    if (due) {
      due = false;
      look();
    }
  }

  const news = new EventSource("/news");
  news.addEventListener("mark", (e) => e.data !== document.getElementById("board").dataset.mark && look());
  news.addEventListener("error", () => said(`Not reached since ${seen}: what stands here may be old.`));
  news.addEventListener("open", () => said(""));
  setInterval(() => news.readyState !== EventSource.OPEN && look(), again);
})();
