// The stretch of time a sheet shows, and the rulings that fit it.

export interface Span {
  from: number; // s from frame 0
  to: number;
}

/** Enlarges about a time: by > 1 shows less. The stretch stays inside the whole, and holds at least `least` seconds. */
export function zoomed(s: Span, about: number, by: number, whole: Span, least: number): Span {
  const length = Math.min(whole.to - whole.from, Math.max(least, (s.to - s.from) / by));
  const share = (about - s.from) / (s.to - s.from || 1);
  return kept({ from: about - share * length, to: about + (1 - share) * length }, whole);
}

/** Moves by a time, no farther than the whole. */
export const moved = (s: Span, by: number, whole: Span): Span => kept({ from: s.from + by, to: s.to + by }, whole);

/** Moves just so far that a time is in view, with some room beside it. */
export function holding(s: Span, t: number, whole: Span): Span {
  const room = 0.04 * (s.to - s.from);
  if (t < s.from + room) return moved(s, t - room - s.from, whole);
  if (t > s.to - room) return moved(s, t + room - s.to, whole);
  return s;
}

function kept(s: Span, whole: Span): Span {
  const length = s.to - s.from;
  if (length >= whole.to - whole.from) return { ...whole };
  if (s.from < whole.from) return { from: whole.from, to: whole.from + length };
  if (s.to > whole.to) return { from: whole.to - length, to: whole.to };
  return s;
}

/** Where rulings stand: a round step, about `want` of them, each with its decimal places. */
export function rulings(low: number, high: number, want: number): { at: number[]; step: number; places: number } {
  const length = high - low;
  if (!(length > 0)) return { at: [low], step: 1, places: 0 };
  const rough = length / Math.max(1, want);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5].find((m) => m * power >= rough * 0.999) ?? 10);
  const at: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) at.push(k * step);
  return { at, step, places: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) };
}
