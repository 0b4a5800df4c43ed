// How a page talks to the desk: requests, and the one stream of events.

import type { DeskEvent } from "./types";

/** A request that was refused: what is wrong, what to do. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly hint: string,
    readonly kind = "",
  ) {
    super(message);
  }
}

/** This tab's own name: events of changes made here carry it. */
export const tab = Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16).padStart(2, "0")).join("");

/** Asks the desk. Throws a Refusal where it says no or cannot be reached. */
export async function api<T = any>(method: string, path: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  let response: Response;
  const text = body === undefined ? undefined : JSON.stringify(body);
  try {
    response = await fetch(path, {
      method,
      signal,
      headers: { "Padside-Tab": tab, ...(body === undefined ? {} : { "Content-Type": "application/json" }) },
      body: text,
      // An edit on its way is finished when its page is left; browsers do that for bodies up to 64 kB.
      keepalive: method !== "GET" && (text?.length ?? 0) < 50_000,
    });
  } catch (cause) {
    if (signal?.aborted) throw cause;
    throw away();
  }
  if (response.status === 204) return undefined as T;
  const answer = await response.text();
  if (!response.ok) throw refusalOf(response.status, answer);
  return JSON.parse(answer) as T;
}

export function away(): Refusal {
  return new Refusal(0, "padside does not answer", "start it again; this page goes on by itself if the address stays the same");
}

/** Reads a refusal out of an answer. */
export function refusalOf(status: number, text: string): Refusal {
  try {
    const e = JSON.parse(text).error;
    return new Refusal(status, e.message, e.hint, e.kind);
  } catch {
    return new Refusal(status, `the request was refused (${status})`, text.slice(0, 200));
  }
}

type Listener = (e: DeskEvent) => void;
const listeners = new Set<Listener>();
const onReturn = new Set<() => void>();
let stream: EventSource | undefined;

/** Calls back on every event, and back() when the stream is there again after it was lost: events may have been missed. */
export function watch(listener: Listener, back?: () => void): () => void {
  listeners.add(listener);
  if (back) onReturn.add(back);
  open();
  return () => {
    listeners.delete(listener);
    if (back) onReturn.delete(back);
  };
}

let lost = false;

function open() {
  if (stream || document.hidden) return;
  stream = new EventSource("/api/events");
  stream.onopen = () => {
    document.dispatchEvent(new CustomEvent("deskhere", { detail: true }));
    if (lost) for (const f of onReturn) f();
    lost = false;
  };
  stream.onerror = () => {
    lost = true;
    document.dispatchEvent(new CustomEvent("deskhere", { detail: false }));
    if (stream?.readyState === EventSource.CLOSED) {
      stream = undefined;
      setTimeout(open, 3000);
    }
  };
  for (const kind of ["job", "launch", "logbook", "heat", "model", "shoot"]) {
    stream.addEventListener(kind, (e) => {
      const event = JSON.parse((e as MessageEvent<string>).data) as DeskEvent;
      for (const f of listeners) f(event);
    });
  }
}

/**
 * A browser keeps six connections to a server open at most, and a stream holds one of them: a tab that nobody has looked at for a
 * while lets go of its own, and reads how things stand when it is looked at again.
 */
const unseen = 20_000; // ms
let leaving = 0;
document.addEventListener("visibilitychange", () => {
  clearTimeout(leaving);
  if (!document.hidden) {
    if (listeners.size > 0) open();
    return;
  }
  leaving = window.setTimeout(() => {
    lost = true;
    stream?.close();
    stream = undefined;
  }, unseen);
});

export const launchPath = (name: string) => `/api/launches/${encodeURIComponent(name)}`;
