// Frames of the footage as pictures: fetched a few at a time, those nearest to the cursor first, the ones used last kept.

import { launchPath } from "../client/desk";

/** How many requests of one store run at once. A browser opens six connections to one host; edits and events must find one free. */
const atOnce = 2;

/** A store of pictures by address. */
export class Frames {
  private kept = new Map<string, ImageBitmap>();
  private asked = new Map<string, AbortController>();
  private failed = new Set<string>();
  private wanted: string[] = [];

  constructor(
    readonly name: string,
    private version: string,
    private room: number,
    private arrived: () => void,
  ) {}

  /** The address of a scaled frame. */
  small(frame: number, width: number): string {
    return `${launchPath(this.name)}/frames/${frame}?width=${width}&v=${this.version}`;
  }

  /** The address of a lossless part of a frame. */
  crop(frame: number, x: number, y: number, w: number, h: number): string {
    return `${launchPath(this.name)}/frames/${frame}?crop=${x},${y},${w},${h}&v=${this.version}`;
  }

  /** The picture at an address if it is here. */
  get(path: string): ImageBitmap | undefined {
    const b = this.kept.get(path);
    if (b) {
      this.kept.delete(path);
      this.kept.set(path, b);
    }
    return b;
  }

  /** Whether a picture could not be had. */
  missing = (path: string) => this.failed.has(path);

  /** Says which pictures are wanted from now on, most wanted first. What is no longer wanted is not fetched any more. */
  want(paths: string[]) {
    this.wanted = paths;
    for (const [path, stop] of this.asked) {
      if (paths.includes(path)) continue;
      stop.abort();
      this.asked.delete(path);
    }
    this.next();
  }

  private next() {
    for (const path of this.wanted) {
      if (this.asked.size >= atOnce) return;
      if (!this.asked.has(path) && !this.kept.has(path) && !this.failed.has(path)) void this.fetch(path);
    }
  }

  private async fetch(path: string) {
    const stop = new AbortController();
    this.asked.set(path, stop);
    try {
      const response = await fetch(path, { signal: stop.signal });
      if (!response.ok) throw new Error(response.statusText);
      this.keep(path, await createImageBitmap(await response.blob()));
    } catch {
      if (stop.signal.aborted) return;
      this.failed.add(path);
      setTimeout(() => this.failed.delete(path), 5000); // the desk may have been away
    }
    if (this.asked.get(path) === stop) this.asked.delete(path);
    this.next();
    this.arrived();
  }

  private keep(path: string, b: ImageBitmap) {
    this.kept.set(path, b);
    for (const [old, picture] of this.kept) {
      if (this.kept.size <= this.room) return;
      picture.close();
      this.kept.delete(old);
    }
  }
}
