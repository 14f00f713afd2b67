// Which events count, with what time and body, once corrections are applied: twin of
// book/runs/corrections.py.

import { readMoment, writeMoment } from "./moments.js";

/** Return {counted, odd}: events by (at, id), and [id, why] of corrections that do not fit. */
export function effective(events) {
  const unique = clockSet(once(events));
  const corrections = [...unique.values()].filter((event) => event.kind === "corrected").sort(byTime).reverse();
  const last = new Map();
  const odd = [];
  const seen = new Set();
  for (const correction of corrections) {
    seen.add(correction.id);
    const verdict = last.get(correction.id);
    if (verdict && withdraws(verdict)) continue;
    const target = correction.body.event;
    if (typeof target !== "string" || !unique.has(target)) odd.push([correction.id, "it corrects an event that is not in this run"]);
    else if (seen.has(target)) odd.push([correction.id, "it corrects a correction made after it"]);
    else if (!last.has(target)) last.set(target, correction);
  }
  const counted = [];
  for (const event of unique.values()) {
    if (event.kind === "corrected" || event.kind === "clock_set") continue;
    const right = last.get(event.id);
    if (!right) counted.push(event);
    else if (!withdraws(right)) {
      const [fixed, why] = putRight(event, right.body);
      if (why) odd.push([right.id, why]);
      counted.push(fixed);
    }
  }
  return { counted: counted.sort(byTime), odd: odd.sort(compare) };
}

/** Order lists, numbers and text, part by part. */
export function compare(a, b) {
  if (Array.isArray(a)) {
    for (let place = 0; place < Math.min(a.length, b.length); place += 1) {
      const order = compare(a[place], b[place]);
      if (order) return order;
    }
    return a.length - b.length;
  }
  return a < b ? -1 : a > b ? 1 : 0;
}

const byTime = (a, b) => a.micros - b.micros || compare(a.id, b.id);
const withdraws = (correction) => correction.body.withdrawn === true;
export const isTable = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

// An event is never changed, so it is read once, not four times a second.
const read = new WeakMap();

function readEvent(raw) {
  let event = read.get(raw);
  if (!event) {
    event = { ...raw, body: isTable(raw.body) ? raw.body : {}, micros: readMoment(raw.at), plate: raw.plate ?? null, step: raw.step ?? null };
    read.set(raw, event);
  }
  return event;
}

function once(events) {
  const unique = new Map();
  for (const raw of events) {
    const event = readEvent(raw);
    const known = unique.get(event.id);
    if (!known || compare(rank(event), rank(known)) < 0) unique.set(event.id, event);
  }
  return unique;
}

/** The times as the house's clock should have given them, where it was set. */
function clockSet(unique) {
  const settings = [...unique.values()].filter((event) => event.kind === "clock_set" && Number.isInteger(event.body.after) && Number.isInteger(event.body.by_us));
  if (!settings.length) return unique;
  const moved = new Map();
  for (const event of unique.values()) {
    const seq = event.seq ?? 0;
    const by = settings.reduce((sum, set) => (set.body.after < seq && seq < set.seq ? sum + set.body.by_us : sum), 0);
    const told = event.kind === "corrected" && typeof event.body.at === "string" ? readMoment(event.body.at) : null;
    moved.set(event.id, { ...event, micros: event.micros + by, body: told === null ? event.body : { ...event.body, at: writeMoment(told + by) } });
  }
  return moved;
}

function rank(event) {
  const place = [event.plate ?? "", event.step ?? "", event.device ?? ""];
  return [event.seq ? 0 : 1, event.micros, event.kind, ...place, sorted(event.body), event.seq ?? 0];
}

function sorted(value) {
  if (Array.isArray(value)) return `[${value.map(sorted).join(", ")}]`;
  if (isTable(value)) return `{${Object.keys(value).sort().map((key) => `${JSON.stringify(key)}: ${sorted(value[key])}`).join(", ")}}`;
  return JSON.stringify(value) ?? "null";
}

function putRight(event, body) {
  let fixed = event;
  if (isTable(body.body)) fixed = { ...fixed, body: { ...fixed.body, ...body.body } };
  if (body.at === undefined || body.at === null) return [fixed, ""];
  const micros = readMoment(body.at);
  return micros === null ? [fixed, "the corrected time cannot be read"] : [{ ...fixed, micros }, ""];
}
