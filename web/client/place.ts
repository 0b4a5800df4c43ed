// What the logbook page shows is kept in its address, so that it can be kept, sent and gone back to.

export interface Place {
  find: string; // words every entry must hold
  by: string; // what entries are sorted by: "date", "vehicle", "title", or a quantity
  up: boolean; // smallest first
  pick: string[]; // launches chosen for comparison
  scale: string; // the quantity on the axis; empty: the most common
}

export function readPlace(): Place {
  const q = new URLSearchParams(location.search);
  return { find: q.get("find") ?? "", by: q.get("by") ?? "date", up: q.get("up") === "1", pick: q.getAll("pick"), scale: q.get("scale") ?? "" };
}

export function keepPlace(p: Place) {
  const q = new URLSearchParams();
  if (p.find) q.set("find", p.find);
  if (p.by !== "date") q.set("by", p.by);
  if (p.up) q.set("up", "1");
  if (p.scale) q.set("scale", p.scale);
  for (const name of p.pick) q.append("pick", name);
  history.replaceState(null, "", q.size ? `?${q}` : location.pathname);
}
