// A row of the sheet: a strip of ruled paper with its own scale upward and the common time to the right.

import type { Inks } from "./inks";
import type { Span } from "./span";
import { rulings } from "./span";
import { plain } from "./reading";

/** Where the rows stand on the canvas, and what time is where. */
export interface Frame {
  left: number; // px of the canvas where the shown time begins
  right: number;
  span: Span;
}

export const xOf = (f: Frame, t: number) => f.left + ((t - f.span.from) / (f.span.to - f.span.from)) * (f.right - f.left);
export const tOf = (f: Frame, x: number) => f.span.from + ((x - f.left) / (f.right - f.left)) * (f.span.to - f.span.from);

export interface Row {
  top: number;
  height: number;
  low: number; // value at the bottom
  high: number; // value at the top
}

export const yOf = (r: Row, v: number) => r.top + ((r.high - v) / (r.high - r.low)) * r.height;
export const valueOf = (r: Row, y: number) => r.high - ((y - r.top) / r.height) * (r.high - r.low);

/** Crisp lines stand on half pixels. */
export const crisp = (v: number) => Math.round(v) + 0.5;

/** Draws what follows inside a row only. */
export function inside(c: CanvasRenderingContext2D, f: Frame, r: Row, draw: () => void) {
  c.save();
  c.beginPath();
  c.rect(f.left, r.top, f.right - f.left, r.height);
  c.clip();
  draw();
  c.restore();
}

/** The ruled paper of a row: fine and strong time rulings, and value rulings with their numbers at the left. */
export function paper(c: CanvasRenderingContext2D, f: Frame, r: Row, k: Inks, time: { fine: number[]; strong: number[] }, factor: number) {
  const values = rulings(r.low * factor, r.high * factor, r.height / 44);
  const fine = rulings(r.low * factor, r.high * factor, (5 * r.height) / 44);
  const lines = (ink: string, xs: number[], ys: number[]) => {
    c.strokeStyle = ink;
    c.lineWidth = 1;
    c.beginPath();
    for (const t of xs) {
      const x = crisp(xOf(f, t));
      if (x < f.left || x > f.right) continue;
      c.moveTo(x, r.top);
      c.lineTo(x, r.top + r.height);
    }
    for (const v of ys) {
      const y = crisp(yOf(r, v / factor));
      c.moveTo(f.left, y);
      c.lineTo(f.right, y);
    }
    c.stroke();
  };
  lines(k.ruling, time.fine, fine.at);
  lines(k.ruling2, time.strong, values.at);
  c.fillStyle = k.faint;
  c.font = `13px ${k.figures}`;
  c.textAlign = "right";
  c.textBaseline = "middle";
  for (const v of values.at) {
    const y = yOf(r, v / factor);
    if (y < r.top + 5 || y > r.top + r.height - 4) continue;
    c.fillText(plain(v, values.places), f.left - 7, y);
  }
}

/** A stroke of the pen through points; where a value is not a number the pen is lifted. */
export interface Curve {
  t: number[];
  v: number[];
  half: number[]; // half of the 95 % interval
}

export function drawBand(c: CanvasRenderingContext2D, f: Frame, r: Row, curve: Curve, ink: string) {
  c.fillStyle = ink;
  for (const [i, j] of pieces(curve, f.span)) {
    c.beginPath();
    for (let k = i; k <= j; k++) c.lineTo(xOf(f, curve.t[k]), yOf(r, curve.v[k] + curve.half[k]));
    for (let k = j; k >= i; k--) c.lineTo(xOf(f, curve.t[k]), yOf(r, curve.v[k] - curve.half[k]));
    c.fill();
  }
}

export function drawCurve(c: CanvasRenderingContext2D, f: Frame, r: Row, curve: Curve) {
  c.beginPath();
  for (const [i, j] of pieces(curve, f.span)) {
    c.moveTo(xOf(f, curve.t[i]), yOf(r, curve.v[i]));
    for (let k = i + 1; k <= j; k++) c.lineTo(xOf(f, curve.t[k]), yOf(r, curve.v[k]));
  }
  c.stroke();
}

/** The stretches of a curve in view between which the pen is lifted. */
function pieces(curve: Curve, s: Span): [number, number][] {
  const [first, last] = seen(curve.t, s);
  const out: [number, number][] = [];
  for (let k = first; k <= last; k++) {
    if (Number.isNaN(curve.v[k])) continue;
    const open = out.at(-1);
    if (open && open[1] === k - 1) open[1] = k;
    else out.push([k, k]);
  }
  return out;
}

/** The entries in a stretch of time and one more on each side. */
export function seen(t: readonly number[], s: Span): [number, number] {
  let i = 0;
  let j = t.length - 1;
  while (i < j && t[i + 1] < s.from) i++;
  while (j > i && t[j - 1] > s.to) j--;
  return [i, j];
}

/** Words on the paper with a halo of paper, so that they can be read over any picture. */
export function words(c: CanvasRenderingContext2D, text: string, x: number, y: number, ink: string, k: Inks) {
  c.lineJoin = "round";
  c.lineWidth = 4;
  c.setLineDash([]);
  c.strokeStyle = k.paper;
  c.strokeText(text, x, y);
  c.fillStyle = ink;
  c.fillText(text, x, y);
}

/** Labels at one side of a row, moved apart where they would stand on each other. */
export function labels(c: CanvasRenderingContext2D, r: Row, list: { text: string; x: number; y: number; ink: string }[], k: Inks) {
  const apart = 16;
  c.font = `600 13px ${k.figures}`;
  c.textAlign = "right";
  c.textBaseline = "middle";
  let next = r.top + apart / 2;
  for (const l of list.sort((a, b) => a.y - b.y)) {
    const most = r.top + r.height - apart * (list.length - list.indexOf(l) - 0.5);
    const y = Math.min(Math.max(next, l.y), most);
    next = y + apart;
    words(c, l.text, l.x, y, l.ink, k);
  }
}
