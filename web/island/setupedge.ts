// Finds the edge between a dark and a light band of a rod to a fraction of a pixel.

/** Grey values of a part of a frame: row by row from the top left, whose pixel centre is at (x0, y0) of the frame. */
export interface Patch {
  grey: Float32Array;
  width: number;
  height: number;
  x0: number;
  y0: number;
}

/** Steps of the profile, px; how far an edge is looked for; half the width over which the profile is averaged. */
const step = 0.25;
const reach = 6;
const across = 3;
/** The least change over a px, of 255, that counts as an edge: above the noise of a dim frame once averaged. */
const least = 6;

/**
 * The place of the steepest change of grey along the unit vector (ux, uy) within reach of (x, y), px; null where there is none.
 * The grey is averaged across the line, differenced over one px, and the peak's place refined by a parabola through three steps.
 */
export function edgeNear(p: Patch, x: number, y: number, ux: number, uy: number): { x: number; y: number } | null {
  const n = Math.round(reach / step);
  const slope: number[] = [];
  for (let k = -n; k <= n; k++) slope.push(Math.abs(mean(p, x, y, ux, uy, k * step + 0.5) - mean(p, x, y, ux, uy, k * step - 0.5)));
  let best = -1;
  for (let k = 1; k < slope.length - 1; k++) if (slope[k] >= slope[k - 1] && slope[k] > slope[k + 1] && (best < 0 || slope[k] > slope[best])) best = k;
  if (best < 0 || !(slope[best] >= least)) return null;
  const [a, b, c] = [slope[best - 1], slope[best], slope[best + 1]];
  const s = (best - n + (a - c) / (2 * (a - 2 * b + c))) * step;
  return { x: x + s * ux, y: y + s * uy };
}

function mean(p: Patch, x: number, y: number, ux: number, uy: number, s: number): number {
  let sum = 0;
  for (let t = -across; t <= across; t++) sum += greyAt(p, x + s * ux - t * uy, y + s * uy + t * ux);
  return sum / (2 * across + 1);
}

/** Bilinear; NaN beyond the patch. */
function greyAt(p: Patch, x: number, y: number): number {
  const [u, v] = [x - p.x0, y - p.y0];
  const [i, j] = [Math.floor(u), Math.floor(v)];
  if (i < 0 || j < 0 || i + 1 >= p.width || j + 1 >= p.height) return NaN;
  const [f, g] = [u - i, v - j];
  const at = (a: number, b: number) => p.grey[b * p.width + a];
  return (1 - g) * ((1 - f) * at(i, j) + f * at(i + 1, j)) + g * ((1 - f) * at(i, j + 1) + f * at(i + 1, j + 1));
}
