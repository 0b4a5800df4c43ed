// Runs before the first paint, so it is not a module: sets data-theme to the paper the reader chose, else the system's.
(() => {
  const root = document.documentElement;
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const set = () => {
    const theme = root.dataset.paper || (dark.matches ? "dark" : "light");
    if (root.dataset.theme === theme) return;
    root.dataset.theme = theme;
    document.dispatchEvent(new CustomEvent("themechange", { detail: theme }));
  };
  set();
  dark.addEventListener("change", set);
  document.addEventListener("paperchosen", set);
})();
