// The margin of the sheet: what stands at the cursor, with its interval, beside the row it belongs to.

import { el } from "../client/draw";
import type { Lane, Motion } from "./view";
import { doubtful, Model } from "./model";
import { coverage, factorOf, plain, printed, unitOf, withInterval } from "./reading";

type Of = "height" | "speed" | "acceleration";

const names: Record<Of, string> = { height: "Height", speed: "Speed", acceleration: "Acceleration" };
const quantities = { height: "length", speed: "speed", acceleration: "acceleration" } as const;

/** The value of one row at the cursor, for each lane. */
export class Reading {
  readonly box: HTMLElement;

  constructor(
    private m: Model,
    private of: Of,
  ) {
    this.box = el("div", { class: `reading ${of}` });
  }

  renew() {
    const { m, of } = this;
    const unit = printed(unitOf(m.units, quantities[of]));
    this.box.replaceChildren(el("p", { class: "name" }, names[of], " ", el("span", { class: "faint" }, unit)), ...m.view.lanes.map((lane) => this.line(lane)));
  }

  private line(lane: Lane): HTMLElement {
    const { m } = this;
    const n = valueOf(m, lane, this.of);
    const name = m.view.lanes.length > 1 && el("span", { class: `lane pen${lane.lane}` }, lane.name);
    if (!n) return el("p", { class: "value none" }, name, "not known here");
    if (Number(n.half) === 0) return el("p", { class: "value none" }, name, "at rest");
    return el("p", { class: "value" }, name, el("span", { class: "best" }, n.value), el("span", { class: "half" }, ` ± ${n.half}`));
  }
}

function valueOf(m: Model, lane: Lane, of: Of): { value: string; half: string } | null {
  const h = m.motion(m.frame, lane);
  const factor = factorOf(m.units, quantities[of]);
  if (h) return withInterval(h[of] * factor, coverage * h[`u_${of}` as keyof Motion] * factor);
  const p = of === "height" && m.point(m.frame, lane);
  return p ? withInterval(p.height * factor, coverage * p.u_height * factor) : null;
}

/** The instant and the frame at the cursor, as they are written above the loupe. */
export function instant(m: Model): { time: string; frame: string } {
  const t = m.point(m.frame)?.t ?? m.view.times[m.frame];
  return { time: `${plain((t - m.zero) * 1e3, 2)} ms`, frame: `frame ${m.frame}` };
}

/** What is to be said of the place in the cursor's frame. */
export function placeWords(m: Model): string {
  const dropped = m.lane.dropped.find((d) => d.frame === m.frame);
  const p = m.point(m.frame);
  if (m.held) return "Moved by hand, being saved.";
  if (dropped) return `Not found in this frame: ${dropped.reason}. The ring shows where it should be; move it there by hand.`;
  if (!p) return "Not traced in this frame.";
  const u = coverage * p.u;
  const where = `± ${plain(u, Math.max(1, Math.min(3, 1 - Math.floor(Math.log10(u || 1)))))} px along the flight line.`;
  if (p.source === "marked") return `Marked by hand, ${where}`;
  if (p.source !== "followed") return `Doubtful (${p.source}), ${where}`;
  return p.quality < doubtful ? `Doubtful: ${plain(p.quality, 2)} alike to the vehicle at rest, ${where}` : `Followed, ${where}`;
}

/** The cursor in words, for those who hear the page. */
export function spoken(m: Model): string {
  const { time, frame } = instant(m);
  const parts = (["height", "speed", "acceleration"] as const).map((of) => {
    const n = valueOf(m, m.lane, of);
    return n && (Number(n.half) === 0 ? `${of} at rest` : `${of} ${n.value} ± ${n.half} ${printed(unitOf(m.units, quantities[of]))}`);
  });
  return [frame, `${time} from ${m.zeroWords}`, ...parts.filter(Boolean)].join(", ");
}
