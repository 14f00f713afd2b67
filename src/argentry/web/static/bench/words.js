// Times and happenings in words: one way everywhere on the page.

import { readMoment } from "./moments.js";
import { lookOf, trade } from "./questions.js";

const IN_SECONDS = 150; // shorter lengths are told in seconds

/** Time left or over, as it counts: ``4:32``, ``2 h 14``, ``+0:35``. */
export function counting(seconds) {
  const over = seconds < 0;
  const whole = over ? Math.floor(-seconds) : Math.ceil(seconds);
  return (over && whole > 0 ? "+" : "") + figures(whole);
}

function figures(whole) {
  if (whole >= 36000) return `${Math.floor(whole / 3600)} h`;
  if (whole >= 3600) return `${Math.floor(whole / 3600)} h ${two(Math.floor(whole / 60) % 60)}`;
  return `${Math.floor(whole / 60)}:${two(whole % 60)}`;
}

const two = (value) => String(value).padStart(2, "0");

/** A length of time: ``45 s``, ``7 min``, ``2 h 05``. */
export function length(seconds) {
  if (seconds < IN_SECONDS) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  return minutes < 100 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${two(minutes % 60)}`;
}

/** A length in minutes, with hours from a hundred minutes on: ``0 min``, ``12 min``, ``2 h 30``. */
export function minutes(seconds) {
  const whole = Math.round(seconds / 60);
  return whole < 100 ? `${whole} min` : `${Math.floor(whole / 60)} h ${two(whole % 60)}`;
}

/** A length with its range: ``6 min (4–11)``, ``50 s (40–62)``, ``2 h 05 (1 h 40–3 h)``. */
export function lengthRange(middle, low, high) {
  const whole = length(middle);
  const unit = middle < IN_SECONDS ? ["s", 1] : Math.round(middle / 60) < 100 ? ["min", 60] : null;
  const part = (seconds) => (unit ? String(Math.round(seconds / unit[1])) : length(seconds));
  return part(low) === part(high) ? whole : `${whole} (${part(low)}–${part(high)})`;
}

/** The planned length that a clock counts down from, to its second: ``4:28 (2–10 min)``. */
export function countedFrom(middle, low, high) {
  if (middle < IN_SECONDS) return lengthRange(middle, low, high);
  const range = lengthRange(middle, low, high).split(" (")[1];
  const unit = Math.round(middle / 60) < 100 ? " min" : "";
  return figures(Math.round(middle)) + (range ? ` (${range.slice(0, -1)}${unit})` : "");
}

/** The first clause of a caution: what it warns of. */
export const firstClause = (text) => text.split(/[:;.]/)[0].trim();

// The clock on the studio's wall, wherever the tablet believes to be.
const WALL = new Intl.DateTimeFormat("en-GB", {
  hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: document.body.dataset.zone,
});

/** Wall clock of a moment: ``14:05``. */
export const wallClock = (at) => wallAt(readMoment(at) / 1e6);

/** Wall clock of a moment in seconds since 1970. */
export const wallAt = (seconds) => WALL.format(new Date(seconds * 1000));

const DAY = new Intl.DateTimeFormat("en-GB", { year: "numeric", month: "2-digit", day: "2-digit", timeZone: document.body.dataset.zone });
const dayOf = (at) => DAY.format(new Date(readMoment(at) / 1000)).split("/").reverse().join("-");

/** The same, with the day where it is not that of now: twin of `_clock` in bench/words.py. */
export const dayClock = (at, now) => (dayOf(at) === dayOf(now) ? wallClock(at) : `${dayOf(at)} ${wallClock(at)}`);

export const QUANTITIES = (trade.quantities ?? []).map(([what, title, unit, low, high]) => ({ what, title, unit, low, high }));

/** The quantities, those that a step asks for first. */
export function quantitiesAt(step) {
  const own = trade.reads?.[step] ?? [];
  const rank = ({ what }) => (own.includes(what) ? own.indexOf(what) : own.length);
  return [...QUANTITIES].sort((a, b) => rank(a) - rank(b));
}

export const REMARKS = ["Uneven coat", "Streaks", "Spots", "Veil", "Dust", "Touched", "Light got in", "Looks right"];

const KINDS = {
  run_opened: "Run opened",
  caution_shown: "Caution seen",
  cautions_read: "Cautions read",
  step_begun: "Begun",
  step_ended: "Done",
  step_skipped: "Skipped",
  step_redone: "Redone",
  check_answered: "Check",
  ripe_seen: "Ripening seen",
  reading_taken: "Reading",
  duration_changed: "New length",
  paused: "Paused",
  resumed: "Resumed",
  remark_made: "Remark",
  plate_abandoned: "Given up",
  making_graded: "Graded",
  grading_put_off: "Grade later",
  advice_given: "Advice",
  advice_overruled: "Advice not followed",
  plan_offered: "New plan",
  plan_taken: "New plan taken",
  clock_set: "Clock set",
  plan_declined: "New plan turned down",
  corrected: "Corrected",
  run_closed: "Run closed",
  run_withdrawn: "Run withdrawn",
  plate_withdrawn: "Plate withdrawn",
  plate_added: "One more plate",
};

/** What an event says, in one line. */
export function told(event, state) {
  const plate = state.plates.find((one) => one.id === event.plate)?.label;
  const step = state.steps.find((one) => one.key === event.step)?.title;
  const { body } = event;
  const detail = {
    check_answered: body.answer,
    reading_taken: `${QUANTITIES.find((one) => one.what === body.what)?.title ?? body.what} ${body.value} ${body.unit ?? ""}`,
    ripe_seen: body.words,
    duration_changed: body.why,
    remark_made: body.words,
    step_redone: body.why,
    plate_abandoned: body.why,
    making_graded: [body.grade, ...(Array.isArray(body.defects) ? body.defects : []).map(([key]) => lookOf(key))].filter(Boolean).join(", "),
    run_withdrawn: body.why,
    plate_withdrawn: body.why,
    advice_given: body.line,
    plan_offered: Array.isArray(body.lines) ? body.lines[0] : "",
    advice_overruled: { stop: "given up", redo: "redone" }[body.did] ?? "continued",
    corrected: body.withdrawn ? "taken back" : "",
  }[event.kind];
  return [KINDS[event.kind] ?? event.kind, plate, step, detail].filter(Boolean).join(" · ");
}

export const shortName = (kind) => KINDS[kind] ?? kind;
