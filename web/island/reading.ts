// The units a reader has chosen, and how a number with its uncertainty is written in them.

/** Half of a 95 % interval in standard uncertainties: the normal distribution's 0.975 quantile. */
export const coverage = 1.96;

// From SI to the reader's units. Source: NIST SP 811 (2008), appendix B.8: 1 mi = 1609.344 m, 1 ft = 0.3048 m,
// standard gravity 9.806 65 m/s2.
const factors: Record<string, number> = { "m/s": 1, "km/h": 3.6, mph: 1 / 0.44704, "ft/s": 1 / 0.3048, m: 1, ft: 1 / 0.3048, "m/s2": 1, g: 1 / 9.80665 };

export const choices = {
  speed: ["m/s", "km/h", "mph", "ft/s"],
  length: ["m", "ft"],
  acceleration: ["m/s2", "g"],
} as const;

export type Quantity = keyof typeof choices;

/** Units as chosen; an empty one means: as the questions were asked. */
export type Units = Record<Quantity, string>;

/** Fills in what was not chosen, as the desk words its answers: as the first question was asked; pulls in g. */
export function settled(chosen: Units, speeds: string[], gates: string[]): Units {
  const asked = (q: "speed" | "length", list: string[]) => {
    const unit = list[0]?.replace(/^[-+\d.\s]+/, "") ?? "";
    return (choices[q] as readonly string[]).includes(unit) ? unit : choices[q][0];
  };
  return { speed: chosen.speed || asked("speed", speeds), length: chosen.length || asked("length", gates), acceleration: chosen.acceleration || "g" };
}

/** The unit of a quantity. */
export const unitOf = (u: Units, q: Quantity) => u[q] || choices[q][0];

/** What a value in SI is multiplied by to be in a unit as it is printed. */
export const fromSI = (unit: string) => (unit === "ms" ? 1e3 : (factors[unit.replace("m/s²", "m/s2")] ?? 1));

/** What a value in SI is multiplied by to be in the reader's unit. */
export const factorOf = (u: Units, q: Quantity) => factors[unitOf(u, q)];

/** A unit as it is printed. */
export const printed = (unit: string) => unit.replace("m/s2", "m/s²");

/** A value and half of its 95 % interval, both to the place of the half interval's second figure. */
export function withInterval(value: number, half: number): { value: string; half: string } {
  const places = placesOf(half);
  return { value: plain(value, places), half: plain(half, places) };
}

/** Decimal places at which a half interval has two figures. */
export function placesOf(half: number): number {
  if (!(half > 0) || !Number.isFinite(half)) return 3;
  return Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(half))));
}

/** A number with so many decimal places and a true minus sign. */
export function plain(v: number, places: number): string {
  const s = v.toFixed(places);
  return (Number(s) === 0 ? s.replace("-", "") : s).replace("-", "−");
}
