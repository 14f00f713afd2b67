// What happened, as a list to be read and taken back from. Pure.

import { compare } from "./corrections.js";
import { LIST, fill } from "./say.js";
import { shortName } from "./words.js";

const UNDO_MS = 10_000;
const HOUSE = ["run_opened", "duration_changed", "advice_given", "advice_overruled", "plan_offered", "clock_set"]; // not said by a hand

/** The last advice about each plate that knew of its last going back, by its id: the step it is about, one line, the step to go back to. */
export function advice(events, state) {
  const last = new Map();
  const since = new Map(state.plates.map((plate) => [plate.id, plate.redone.at(-1)?.event ?? null]));
  for (const { kind, plate, step, body } of [...events].sort((a, b) => compare([a.at, a.id], [b.at, b.id]))) {
    if (kind === "advice_given" && since.get(plate) === (body.since ?? null)) last.set(plate, { step, line: String(body.line ?? ""), backTo: body.back_to ?? null });
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

/** What the last press of this page did that may still be undone: {ids, what, left} or null. */
export function undoable(events, mine, steady) {
  const gone = takenBack(events);
  const open = mine.filter((one) => one.kind !== "corrected" && !gone.has(one.id) && steady - one.when < UNDO_MS);
  const last = open.at(-1);
  const all = open.filter((one) => one.press === last?.press);
  const name = all.find((one) => one.kind.startsWith("step_")) ?? last;
  return last ? { ids: all.map((one) => one.id), what: shortName(name.kind), left: (UNDO_MS - (steady - last.when)) / 1000 } : null;
}

/** Every event, newest first: {event, withdrawn, under, fixed}. */
export function happened(events, state) {
  const odd = new Map(state.odd.map((one) => [one.event, one.why]));
  const gone = takenBack(events);
  const newest = [...events].sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : a.id < b.id ? 1 : -1));
  return newest.map((event) => {
    const withdrawn = gone.has(event.id);
    const under = [withdrawn && LIST.takenBack, odd.has(event.id) && fill(LIST.odd, { why: odd.get(event.id) }), !event.seq && LIST.onlyHere];
    return { event, withdrawn, under: under.filter(Boolean).join(" · "), fixed: HOUSE.includes(event.kind) };
  });
}
