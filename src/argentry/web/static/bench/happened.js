// What happened, as a list to be read and taken back from. Pure.

import { compare } from "./corrections.js";
import { shortName } from "./words.js";

const UNDO_MS = 10_000;
const HOUSE = ["run_opened", "duration_changed", "advice_given", "advice_overruled"]; // not said by a hand

/** The last advice about each plate, by its id: the step it is about, and one line. */
export function advice(events) {
  const last = new Map();
  for (const event of [...events].sort((a, b) => compare([a.at, a.id], [b.at, b.id]))) {
    if (event.kind === "advice_given") last.set(event.plate, { step: event.step, line: String(event.body.line ?? "") });
  }
  return last;
}

/** Ids of the events that are taken back, by the rules of the fold: the last word about one counts. */
export function takenBack(events) {
  const corrections = events.filter((event) => event.kind === "corrected");
  const gone = new Set();
  const spoken = new Set();
  for (const { id, body } of corrections.sort((a, b) => compare([b.at, b.id], [a.at, a.id]))) {
    if (gone.has(id) || spoken.has(body.event)) continue;
    spoken.add(body.event);
    if (body.withdrawn === true) gone.add(body.event);
  }
  return gone;
}

/** The last thing this page did that may still be undone: {id, what, left} or null. */
export function undoable(events, mine, steady) {
  const gone = takenBack(events);
  const last = mine.findLast((one) => one.kind !== "corrected" && !gone.has(one.id) && steady - one.when < UNDO_MS);
  return last ? { id: last.id, what: shortName(last.kind), left: (UNDO_MS - (steady - last.when)) / 1000 } : null;
}

/** Every event, newest first: {event, withdrawn, under, fixed}. */
export function happened(events, state) {
  const odd = new Map(state.odd.map((one) => [one.event, one.why]));
  const gone = takenBack(events);
  const newest = [...events].sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : a.id < b.id ? 1 : -1));
  return newest.map((event) => {
    const withdrawn = gone.has(event.id);
    const under = [withdrawn && "taken back", odd.has(event.id) && `does not fit: ${odd.get(event.id)}`, !event.seq && "kept here, not in the book yet"];
    return { event, withdrawn, under: under.filter(Boolean).join(" · "), fixed: HOUSE.includes(event.kind) };
  });
}
