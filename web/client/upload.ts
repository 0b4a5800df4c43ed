// Sends footage to the desk, file by file, and says how far it is.

import { api, Refusal, refusalOf } from "./desk";

/** One new launch: a clip, or a set of stills. */
export interface Batch {
  title: string;
  files: File[];
}

const clips = /\.(mp4|m4v|mov|avi|mkv|webm|mts|m2ts|mxf|mpe?g|wmv|y4m|ogv|3gp)$/i;
const stills = /\.(jpe?g|png|tiff?|bmp|webp|gif|dng|exr)$/i;

/**
 * Sorts what was dropped: each clip is a launch of its own, stills belong together. What looks like neither is left out where
 * there is footage beside it, as folders of stills hold lists and thumbnails too; alone, it is sent for the desk to judge.
 */
export function batches(files: File[]): { list: Batch[]; left: number } {
  const seen = files.filter((f) => !f.name.startsWith("."));
  const pictures = seen.filter((f) => stills.test(f.name));
  const films = seen.filter((f) => clips.test(f.name));
  const others = seen.length - pictures.length - films.length;
  const alone = pictures.length + films.length === 0;
  const list = (alone ? seen : films).map((f): Batch => ({ title: stem(f.name), files: [f] }));
  if (pictures.length > 0) {
    pictures.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }));
    list.push({ title: stem(pictures[0].name), files: pictures });
  }
  return { list, left: alone ? 0 : others };
}

const stem = (name: string) => name.replace(/\.[^.]*$/, "").replaceAll("_", " ");

/** All files of a drop, those in folders too. */
export async function filesOf(data: DataTransfer): Promise<File[]> {
  const entries = [...data.items].filter((i) => i.kind === "file").map((i) => i.webkitGetAsEntry?.() ?? null);
  if (!entries.some((e) => e?.isDirectory)) return [...data.files];
  return (await Promise.all(entries.filter((e) => e !== null).map(walk))).flat();
}

async function walk(entry: FileSystemEntry): Promise<File[]> {
  if (entry.isFile) return [await new Promise<File>((done, fail) => (entry as FileSystemFileEntry).file(done, fail))];
  const reader = (entry as FileSystemDirectoryEntry).createReader();
  const out: File[] = [];
  for (;;) {
    // A folder is read in pieces; an empty piece is its end.
    const some = await new Promise<FileSystemEntry[]>((done, fail) => reader.readEntries(done, fail));
    if (some.length === 0) return out;
    for (const e of some) out.push(...(await walk(e)));
  }
}

/** Sends a batch and returns the new launch's name. What was sent is forgotten where it fails or is cancelled. */
export async function sendBatch(b: Batch, progress: (sent: number, total: number) => void, cancel: AbortSignal): Promise<string> {
  const total = b.files.reduce((n, f) => n + f.size, 0);
  const { id } = await api<{ id: string }>("POST", "/api/imports", {}, cancel);
  try {
    let before = 0;
    for (const f of b.files) {
      await put(`/api/imports/${id}/${encodeURIComponent(f.name)}`, f, (n) => progress(before + n, total), cancel);
      before += f.size;
    }
  } catch (problem) {
    api("DELETE", `/api/imports/${id}`).catch(() => {});
    throw problem;
  }
  progress(total, total);
  // From here on the desk keeps the footage or throws it away by itself.
  return (await api<{ name: string }>("POST", `/api/imports/${id}/finish`, { title: b.title }, cancel)).name;
}

/** Sends one file. fetch does not say how far an upload is; XMLHttpRequest does. */
function put(path: string, file: File, progress: (sent: number) => void, cancel: AbortSignal): Promise<void> {
  return new Promise((done, fail) => {
    const request = new XMLHttpRequest();
    request.open("PUT", path);
    request.upload.onprogress = (e) => progress(e.loaded);
    request.onload = () => (request.status < 300 ? done() : fail(refusalOf(request.status, request.responseText)));
    request.onerror = () => fail(cut(file));
    request.onabort = () => fail(new DOMException("cancelled", "AbortError"));
    cancel.addEventListener("abort", () => request.abort());
    if (cancel.aborted) return fail(new DOMException("cancelled", "AbortError"));
    request.send(file);
  });
}

const cut = (file: File) => new Refusal(0, `sending ${file.name} was cut off`, "try again; nothing half-sent was kept");
