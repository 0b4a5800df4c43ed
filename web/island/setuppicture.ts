// The frame in which the reference is marked, with its marks and what each is off by.

import { launchPath } from "../client/desk";
import { el, svg } from "../client/draw";
import type { Sheet } from "./setupsheet";

/** The width of the picture: it is seen whole, and leaves room for what stands beside it. */
export const pictureWidth = (sheet: Sheet) => `max(18rem, min(44rem, calc(78vh * ${sheet.setup.frame_width / sheet.setup.frame_height})))`;

/** Residuals are drawn this many times their size. */
const magnified = 20;
/** A press this near to a mark, px on the screen, takes hold of it. */
const near = 14;

export function picturePart(sheet: Sheet): HTMLElement {
  const { frame_width: w, frame_height: h, frames } = sheet.setup;
  const img = el("img", { alt: "", draggable: "false", decoding: "async" });
  const over = svg("svg", { viewBox: `-0.5 -0.5 ${w} ${h}`, "aria-hidden": "true" });
  const stage = el("div", { class: "stage" }, img, over);
  stage.style.aspectRatio = `${w} / ${h}`;
  stage.style.width = `min(100%, calc(78vh * ${w / h}))`;
  const slide = el("input", { type: "range", id: "frame", min: 0, max: Math.max(0, frames - 1), step: 1 });
  const number = el("output", { for: "frame" });
  slide.addEventListener("input", () => {
    sheet.frame = Number(slide.value);
    sheet.changed();
  });
  hold(stage, sheet);
  let shown = -1;
  const draw = () => {
    if (shown !== sheet.frame) {
      shown = sheet.frame;
      img.src = `${launchPath(sheet.name)}/frames/${shown}?width=${Math.min(w, 1400)}`;
      slide.value = String(shown);
      number.textContent = `${shown} of ${frames - 1}`;
    }
    over.replaceChildren(...marks(sheet, w / Math.max(1, stage.clientWidth)));
  };
  sheet.onChange(draw);
  new ResizeObserver(draw).observe(stage);
  return el(
    "div",
    { class: "picture" },
    stage,
    el("p", { class: "slide" }, el("label", { for: "frame" }, "Frame"), slide, number),
    el("p", { class: "how" }, "Press in the picture to place a mark there; take hold of a mark to move it. By keyboard: Add a mark, then the arrow keys under the loupe."),
  );
}

/** Marks with their numbers, the line through them, and the residuals. px is one px of the screen in px of the frame. */
function marks(sheet: Sheet, px: number): Node[] {
  const out: Node[] = [];
  const s = sheet.spots;
  if (s.length > 1 && sheet.kind !== "plane") out.push(svg("line", { class: "along", x1: s[0].x, y1: s[0].y, x2: s[s.length - 1].x, y2: s[s.length - 1].y }));
  s.forEach((m, i) => {
    const arm = 11 * px;
    const gap = 3 * px;
    const g = svg("g", { class: i === sheet.chosen ? "spot chosen" : "spot" });
    for (const under of [true, false])
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]])
        g.append(svg("line", { class: under ? "under" : "arm", x1: m.x + gap * dx, y1: m.y + gap * dy, x2: m.x + arm * dx, y2: m.y + arm * dy }));
    const r = sheet.open ? undefined : sheet.setup.residuals?.[i];
    if (r) g.append(svg("line", { class: "residual", x1: m.x, y1: m.y, x2: m.x + magnified * r[0], y2: m.y + magnified * r[1] }));
    const label = svg("text", { x: m.x + 15 * px, y: m.y + 4 * px, "font-size": 13 * px }, String(i + 1));
    g.append(label);
    out.push(g);
  });
  return out;
}

/** Pressing in the picture adds a mark or takes hold of one; dragging moves it. */
function hold(stage: HTMLElement, sheet: Sheet) {
  const at = (e: PointerEvent) => {
    const r = stage.getBoundingClientRect();
    const px = sheet.setup.frame_width / r.width;
    return { x: (e.clientX - r.left) * px - 0.5, y: (e.clientY - r.top) * px - 0.5, px };
  };
  let held = -1;
  let from: { x: number; y: number } | null = null;
  stage.addEventListener("pointerdown", (e) => {
    if (e.button !== 0) return;
    const p = at(e);
    const d = sheet.spots.map((s) => Math.hypot(s.x - p.x, s.y - p.y) / p.px);
    const best = d.indexOf(Math.min(...d));
    if (best >= 0 && d[best] < near) {
      held = best;
      sheet.choose(best);
    } else {
      sheet.add(p.x, p.y);
      held = sheet.chosen;
    }
    from = p;
    stage.setPointerCapture(e.pointerId);
    e.preventDefault();
  });
  stage.addEventListener("pointermove", (e) => {
    if (held < 0 || !from) return;
    const p = at(e);
    const s = sheet.spots[held];
    if (!s || (p.x === from.x && p.y === from.y)) return;
    sheet.move(held, s.x + p.x - from.x, s.y + p.y - from.y);
    from = p;
  });
  const end = () => (held = -1);
  stage.addEventListener("pointerup", end);
  stage.addEventListener("pointercancel", end);
}
