// The inks of the paper a reader has chosen, for drawing on a canvas.

export interface Inks {
  dark: boolean;
  paper: string;
  ruling: string;
  ruling2: string;
  ink: string;
  faint: string;
  warn: string;
  gate: string;
  cursor: string;
  pen: string[];
  penText: string[];
  band: string[];
  figures: string;
}

/** Strokes by which pens are told apart without their colour, px. */
export const dashes: readonly (readonly number[])[] = [[], [7, 3], [2, 3], [8, 3, 2, 3], [14, 4]];

/** What such a stroke is called. */
export const strokes = ["solid", "dashed", "dotted", "dash and dot", "long dashes"] as const;

let kept: Inks | undefined;

/** The inks in force now. */
export function inks(): Inks {
  if (kept) return kept;
  const style = getComputedStyle(document.documentElement);
  const of = (name: string) => style.getPropertyValue(name).trim();
  const five = (before: string, after = "") => [1, 2, 3, 4, 5].map((n) => of(`--${before}${n}${after}`));
  kept = {
    dark: document.documentElement.dataset.theme === "dark",
    paper: of("--paper"),
    ruling: of("--ruling"),
    ruling2: of("--ruling-2"),
    ink: of("--ink"),
    faint: of("--faint"),
    warn: of("--warn"),
    gate: of("--gate"),
    cursor: of("--cursor"),
    pen: five("pen"),
    penText: five("pen", "-text"),
    band: five("band"),
    figures: of("--figures") || "sans-serif",
  };
  return kept;
}

document.addEventListener("themechange", () => (kept = undefined));

/** Red, green, blue of "#rrggbb". */
export function channels(hex: string): [number, number, number] {
  const n = parseInt(hex.slice(1, 7), 16);
  return [(n >> 16) & 255, (n >> 8) & 255, n & 255];
}
