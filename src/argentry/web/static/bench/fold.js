// The state of a run from its events: twin of book/runs/fold.py, checked against the same cases. Pure:
// it knows no screen, no clock and no network. Answers in the same JSON form as the server.

import { compare, effective, isTable } from "./corrections.js";
import { handsNext, nextPlanned } from "./hands.js";
import { writeMoment } from "./moments.js";
import { openedPlates, openedSteps } from "./opening.js";
import { openedPlan, planRules } from "./plans.js";
import { fill } from "./say.js";

const FIRST = "{title} comes first";
const RUN_ALREADY = "the run was {word} already";
const PLATE_ALREADY = "the plate was {word} already";
const ANSWERS = ["right", "doubtful", "wrong"];
const RIPENESS = ["ripe", "not yet", "veiling"];
const MOMENTS = ["before", "during", "after"];
const TIMED_LAWS = ["fuming", "exposure", "development", "temperature"]; // their length makes the picture
const SHORT_SHARE = 0.5;
const OUTWARD = ["no_time", "light_gone", "sitter_left", "other"];
const NOT_DONE = { state: "waiting", begun: null, ended: null, waited: null };
const isOver = (step) => step.state === "done" || step.state === "skipped";
const currentOf = (plate) => plate.steps.find((step) => !isOver(step)) ?? null;
const number = (value) => (typeof value === "number" && Math.abs(value) < 1e300 ? value : null);
const above0 = (value) => (number(value) > 0 ? value : null);
const text = (value) => String(value || "");

/**
 * Return the state that a run's events leave it in, read at `nowMicros` (null: the last event's
 * time). Events may come in any order and twice.
 */
export function fold(events, nowMicros = null) {
  const { counted, odd: bad } = effective(events);
  const runId = events.length ? events[0].run : "";
  const seq = events.reduce((most, event) => Math.max(most, event.seq ?? 0), 0);
  const opening = counted.find((event) => event.kind === "run_opened");
  const odd = bad.map(([event, why]) => ({ event, why, counted: false }));
  const now = nowMicros ?? (counted.length ? counted[counted.length - 1].micros : null);
  const told = { run: runId, title: "", state: "none", now, opened: null, closed: null, steps: [], plates: [], shown: [], readings: [], remarks: [], odd, place: {}, constants: {}, seq, read: [], withdrawn: false, offer: null, standing: "", turned_down: [] };
  if (!opening) {
    told.odd = [...odd, ...counted.map((event) => ({ event: event.id, why: "no run was opened for it", counted: false }))];
    return written(told);
  }
  const steps = openedSteps(opening.body);
  const planned = openedPlan(opening.body);
  const run = { steps, plates: openedPlates(opening.body).map((plate) => freshPlate(plate, steps, planned.get(plate.id))), paused: false, closed: null, withdrawn: false, read: [], shown: [], readings: new Map(), remarks: [], odd: [], offers: new Map(), offer: null, answers: new Map(), standing: "", turnedDown: [] };
  for (const event of counted) if (event !== opening) RULES[event.kind]?.(run, event);
  return written({
    ...told,
    title: text(opening.body.title),
    state: run.closed !== null ? "closed" : run.paused ? "paused" : "open",
    opened: opening.micros,
    closed: run.closed,
    steps,
    plates: run.plates.map((plate) => plateState(run, plate, now)),
    shown: run.shown,
    readings: [...run.readings.values()].sort((a, b) => compare(a.what, b.what)),
    remarks: run.remarks,
    odd: [...odd, ...run.odd],
    place: isTable(opening.body.place) ? opening.body.place : {},
    constants: isTable(opening.body.constants) ? opening.body.constants : {},
    read: run.read,
    withdrawn: run.withdrawn,
    offer: run.closed === null ? run.offer : null,
    standing: run.standing,
    turned_down: run.turnedDown,
  });
}

function freshPlate({ id, label }, steps, planned) {
  const fresh = (rule) => ({ rule, planned: rule.planned_s, low: rule.low_s, high: rule.high_s, ...NOT_DONE, answers: new Map(), changes: [], plan: planned?.get(rule.key) ?? null, madeOf: rule.made_of, ripe: null });
  return { id, label, steps: steps.map(fresh), paused: false, why: "", abandoned: null, withdrawn: false, begun: false, given_up: null, grading: null, put_off: false, stops: [], redone: [], left_out: false };
}

function lastEnd(plate, before) {
  let end = null;
  for (const step of plate.steps) {
    if (step === before) break;
    if (step.state === "done") end = step.ended;
  }
  return end;
}

const doubt = (run, event, why, counted = false) => run.odd.push({ event: event.id, why, counted });

function found(run, event) {
  const plate = run.plates.find((one) => one.id === event.plate);
  if (!plate) return doubt(run, event, "there is no such plate in this run") && null;
  const step = plate.steps.find((one) => one.rule.key === event.step);
  if (!step) return doubt(run, event, "there is no such step in this run") && null;
  return [plate, step];
}

function mayGoOn(run, plate, event) {
  if (run.closed !== null) doubt(run, event, "the run was over");
  else if (plate.withdrawn) doubt(run, event, "the plate was withdrawn");
  else if (plate.abandoned !== null) doubt(run, event, "the plate was given up");
  else return true;
  return false;
}

/** The plate of an event when its steps are over, else null and a doubt. */
function plateOver(run, event) {
  const plate = run.plates.find((one) => one.id === event.plate);
  if (!plate) doubt(run, event, "there is no such plate in this run");
  else if (plate.withdrawn) doubt(run, event, "the plate was withdrawn");
  else if (!plate.begun) doubt(run, event, "no step of this plate was begun");
  else if (currentOf(plate) !== null && plate.abandoned === null && run.closed === null) doubt(run, event, "the plate is still in work");
  else return plate;
  return null;
}

function noteCautions(run, noted, keys) {
  for (const key of keys) {
    const known = run.steps.some((step) => step.cautions.some((caution) => caution.key === key));
    if (known && !noted.includes(key)) noted.push(key);
  }
}

const cautionsDue = (run, rule) => rule.cautions.some((one) => !run.shown.includes(one.key) && (one.asks_again || !run.read.includes(one.key)));

/** Why a plate was given up; events of before reasons were asked: a fault once begun. */
function givenUp(plate, body) {
  const reason = ["fault", "outward"].includes(body.reason) ? body.reason : plate.begun ? "fault" : "outward";
  const outward = OUTWARD.includes(body.outward) ? body.outward : "other";
  return {
    stage: text(body.stage) || (currentOf(plate)?.rule.stage ?? ""),
    reason,
    defect: reason === "fault" ? text(body.defect) || null : null,
    outward: reason === "outward" ? outward : null,
    why: plate.why,
  };
}

function gradingOf(event) {
  const { grade, verdict, defects, stages, words } = event.body;
  const pairs = Array.isArray(defects) ? defects : [];
  return {
    event: event.id,
    at: event.micros,
    grade: text(grade) || null,
    verdict: text(verdict) || null,
    defects: pairs.filter((one) => Array.isArray(one) && one.length === 2 && one.every((part) => typeof part === "string")),
    stages: Object.fromEntries(Object.entries(isTable(stages) ? stages : {}).filter(([, word]) => word === "ok" || word === "fault")),
    words: text(words),
  };
}

function withdraw(plate, event) {
  if (plate.withdrawn) return;
  plate.withdrawn = true;
  plate.why = text(event.body.why);
  cutOff(plate, event.micros);
}

const RULES = {
  run_opened: (run, event) => doubt(run, event, "the run was opened already"),

  caution_shown: (run, event) => noteCautions(run, run.shown, [event.body.caution]),
  cautions_read: (run, event) => noteCautions(run, run.read, Array.isArray(event.body.cautions) ? event.body.cautions : []),

  step_begun(run, event) {
    const [plate, step] = found(run, event) ?? [];
    if (!step || !mayGoOn(run, plate, event)) return;
    const current = currentOf(plate);
    if (step.begun !== null) doubt(run, event, "it was begun already");
    else if (isOver(step)) doubt(run, event, "it was skipped");
    else if (current !== step) doubt(run, event, fill(FIRST, current.rule));
    else {
      if (cautionsDue(run, step.rule)) doubt(run, event, "it was begun before its cautions were shown", true);
      const before = lastEnd(plate, step);
      step.state = "running";
      step.begun = event.micros;
      plate.begun = true;
      step.waited = before === null ? null : (event.micros - before) / 1e6;
    }
  },

  step_ended(run, event) {
    const [plate, step] = found(run, event) ?? [];
    if (!step || !mayGoOn(run, plate, event)) return;
    if (step.state === "running") {
      step.state = "done";
      step.ended = event.micros;
    } else doubt(run, event, isOver(step) ? "it was ended already" : "it was not begun");
  },

  step_skipped(run, event) {
    const [plate, step] = found(run, event) ?? [];
    if (!step || !mayGoOn(run, plate, event)) return;
    if (step.state === "waiting") {
      step.state = "skipped";
      step.ended = event.micros;
    } else doubt(run, event, "it was begun or skipped already");
  },

  step_redone(run, event) {
    const [plate, step] = found(run, event) ?? [];
    if (!step || !mayGoOn(run, plate, event)) return;
    const { key } = step.rule;
    if (plate.steps.some((one) => one.rule.law === "exposure" && one.begun !== null)) doubt(run, event, "an exposed plate is given up and begun again as a new making");
    else if (plate.steps.some((one) => one.state === "running")) doubt(run, event, "a step of this plate is still going on");
    else if (!isOver(step)) doubt(run, event, plate.redone.some((one) => one.step === key) ? "it waits to be done again already" : "it was not done yet");
    else {
      // What the last doing left is taken back, but not what is known of the lengths.
      for (const one of plate.steps.slice(plate.steps.indexOf(step))) Object.assign(one, NOT_DONE, { answers: new Map(), ripe: null });
      plate.redone.push({ event: event.id, step: key, at: event.micros, why: text(event.body.why) });
    }
  },

  ripe_seen(run, event) {
    const [, step] = found(run, event) ?? [];
    if (!step) return;
    const { picture, state, words } = event.body;
    const [dose, sd, aloneDose, aloneSd] = ["dose_kj_m2", "log_sd", "alone_kj_m2", "alone_log_sd"].map((key) => above0(event.body[key]));
    const alone = aloneDose !== null && aloneSd !== null;
    if (step.rule.law !== "development") doubt(run, event, "only a development is told by its pictures");
    else if (step.begun === null) doubt(run, event, "the step was not begun");
    else if (!RIPENESS.includes(state)) doubt(run, event, "the state must be ripe, not yet or veiling");
    else if (dose === null || sd === null) doubt(run, event, "the ripe dose or its doubt is not a number above 0");
    else step.ripe = { event: event.id, at: event.micros, picture: text(picture), state, dose_kj_m2: dose, log_sd: sd, alone_kj_m2: alone ? aloneDose : null, alone_log_sd: alone ? aloneSd : null, words: text(words) };
  },

  check_answered(run, event) {
    const [, step] = found(run, event) ?? [];
    if (!step) return;
    const { answer, value, words } = event.body;
    const when = event.body.when || "after";
    const minutes = when === "during" ? number(event.body.at_minutes) : null;
    if (!ANSWERS.includes(answer)) doubt(run, event, "the answer must be right, doubtful or wrong");
    else if (!MOMENTS.includes(when)) doubt(run, event, "the moment must be before, during or after");
    else if (step.begun === null && when !== "before") doubt(run, event, "the step was not begun");
    else step.answers.set(`${when} ${minutes}`, { when, at_minutes: minutes, answer, value: number(value), words: text(words), at: event.micros });
  },

  reading_taken(run, event) {
    const { what } = event.body;
    const value = number(event.body.value);
    if (typeof what !== "string" || !what || value === null) return void doubt(run, event, "the reading has no quantity or no number");
    run.readings.set(what, { what, value, unit: text(event.body.unit), source: text(event.body.source) || text(event.device), at: event.micros, plate: event.plate, step: event.step });
  },

  duration_changed(run, event) {
    const [plate, step] = found(run, event) ?? [];
    if (!step) return;
    const planned = number(event.body.planned_s);
    if (planned === null || planned < 0) return void doubt(run, event, "the new length is not a number");
    if (!["waiting", "running"].includes(step.state) || plate.abandoned !== null || run.closed !== null) return;
    step.changes.push({ at: event.micros, was_s: step.planned, planned_s: planned, why: text(event.body.why) });
    const factor = step.planned > 0 ? planned / step.planned : 1;
    step.low = number(event.body.low_s) ?? step.low * factor;
    step.high = number(event.body.high_s) ?? step.high * factor;
    step.planned = planned;
    step.madeOf = text(event.body.made_of);
  },

  paused: (run, event) => stopOrGo(run, event, true),
  resumed: (run, event) => stopOrGo(run, event, false),

  plate_added(run, event) {
    const { label, once } = event.body;
    if (run.closed !== null) return void doubt(run, event, "the run was over");
    if (run.plates.some((one) => one.id === event.plate)) return void doubt(run, event, "the plate is in this run already");
    if (!event.plate || typeof label !== "string" || !label) return void doubt(run, event, "the plate has no id or no label");
    const plate = freshPlate({ id: event.plate, label }, run.steps);
    for (const step of plate.steps) if (Array.isArray(once) && once.includes(step.rule.key)) Object.assign(step, { state: "skipped", ended: event.micros });
    if (run.paused) plate.stops.push([event.micros, null]);
    run.plates.push(plate);
    if (run.offer?.more?.id === event.plate) run.offer = run.offer.lines.length > 1 ? { ...run.offer, more: null } : null; // a line alone told of this plate
  },

  remark_made(run, event) {
    run.remarks.push({ at: event.micros, words: text(event.body.words), device: text(event.device), plate: event.plate, step: event.step });
  },

  plate_abandoned(run, event) {
    const plate = run.plates.find((one) => one.id === event.plate);
    if (!plate) return void doubt(run, event, "there is no such plate in this run");
    if (!mayGoOn(run, plate, event)) return;
    plate.abandoned = event.micros;
    plate.why = text(event.body.why);
    plate.given_up = givenUp(plate, event.body);
    cutOff(plate, event.micros);
  },

  making_graded(run, event) {
    const plate = plateOver(run, event);
    if (plate) Object.assign(plate, { grading: gradingOf(event), put_off: false });
  },

  grading_put_off(run, event) {
    const plate = plateOver(run, event);
    if (plate && plate.grading === null) plate.put_off = true;
  },

  ...planRules(doubt),

  advice_given() {},
  advice_overruled() {},

  run_closed(run, event) {
    if (run.closed !== null) return void doubt(run, event, "the run was over");
    run.closed = event.micros;
    for (const plate of run.plates) cutOff(plate, event.micros);
  },

  run_withdrawn(run, event) {
    run.closed ??= event.micros;
    run.withdrawn = true;
    for (const plate of run.plates) withdraw(plate, event);
  },

  plate_withdrawn(run, event) {
    const plate = run.plates.find((one) => one.id === event.plate);
    if (plate) withdraw(plate, event);
    else doubt(run, event, "there is no such plate in this run");
  },
};

function cutOff(plate, at) {
  for (const step of plate.steps) {
    if (step.state === "running") {
      step.state = "stopped";
      step.ended = at;
    }
  }
}

function stopOrGo(run, event, stop) {
  const word = stop ? "paused" : "going";
  if (event.plate === null) {
    if (run.closed !== null) doubt(run, event, "the run was over");
    else if (run.paused === stop) doubt(run, event, fill(RUN_ALREADY, { word }));
    else run.paused = stop;
  } else {
    const plate = run.plates.find((one) => one.id === event.plate);
    if (!plate) doubt(run, event, "there is no such plate in this run");
    else if (mayGoOn(run, plate, event)) {
      if (plate.paused === stop) doubt(run, event, fill(PLATE_ALREADY, { word }));
      else plate.paused = stop;
    }
  }
  for (const plate of run.plates) {
    const open = plate.stops.at(-1)?.[1] === null;
    const wanted = run.paused || plate.paused;
    if (wanted && !open) plate.stops.push([event.micros, null]);
    else if (open && !wanted) plate.stops.at(-1)[1] = event.micros;
  }
}

function elapsed(plate, step, now) {
  if (step.begun === null) return 0;
  const end = step.ended ?? now;
  let micros = end - step.begun;
  for (const [low, high] of plate.stops) micros -= Math.max(Math.min(high ?? end, end) - Math.max(low, step.begun), 0);
  return Math.max(micros / 1e6, 0);
}

function plateState(run, plate, now) {
  const current = currentOf(plate);
  const left = plate.withdrawn || plate.abandoned !== null;
  const going = !left && run.closed === null;
  return {
    id: plate.id,
    label: plate.label,
    state: plate.withdrawn ? "withdrawn" : left ? "abandoned" : current === null ? "done" : "open",
    paused: plate.paused,
    current: current === null || left ? null : current.rule.key,
    why: plate.why,
    steps: plate.steps.map((step) => stepState(plate, step, now, going, going && step === current)),
    redone: plate.redone,
    begun: plate.begun,
    given_up: plate.given_up,
    grading: plate.grading,
    grade_due: plate.begun && !left && plate.grading === null && (current === null || run.closed !== null),
    put_off: plate.put_off,
    left_out: plate.left_out,
  };
}

function stepState(plate, step, now, going, isCurrent) {
  const latest = going && step.state === "waiting" ? (step.plan?.latest ?? null) : null;
  const state = isCurrent && step.state === "waiting" ? "ready" : step.state;
  const before = state === "ready" ? lastEnd(plate, step) : null;
  const gone = elapsed(plate, step, now);
  const answer = step.answers.get("after null");
  const ask = asked(step, state, gone);
  return {
    key: step.rule.key,
    state,
    planned_s: step.planned,
    low_s: step.low,
    high_s: step.high,
    begun: step.begun,
    ended: step.ended,
    elapsed_s: gone,
    left_s: step.planned - gone,
    keep_left_s: before !== null && step.rule.within_s !== null ? step.rule.within_s - (now - before) / 1e6 : null,
    waited_s: step.waited,
    answer: answer?.answer ?? null,
    answer_value: answer?.value ?? null,
    answer_words: answer?.words ?? "",
    check_due: ask?.when === "after",
    changes: step.changes,
    answers: [...step.answers.values()],
    ask,
    short: state === "done" && TIMED_LAWS.includes(step.rule.law) && gone < SHORT_SHARE * Math.min(step.low, step.planned),
    plan: step.plan,
    float_s: latest === null ? null : (latest - now) / 1e6,
    made_of: step.madeOf,
    ripe: step.ripe,
  };
}

/** The check that is asked now: while it goes on only the last whose time has come. */
function asked(step, state, gone) {
  const moment = { ready: "before", running: "during", done: "after" }[state];
  let checks = step.rule.checks.filter((one) => one.when === moment);
  if (moment === "during") checks = checks.filter((one) => gone >= 60 * one.at_minutes).sort((a, b) => a.at_minutes - b.at_minutes).slice(-1);
  return checks.find((one) => !step.answers.has(`${one.when} ${one.at_minutes}`)) ?? null;
}

/** The state with its moments as text and the list of hands, as the server's JSON has it. */
function written(state) {
  const moment = (micros) => (micros === null ? null : writeMoment(micros));
  const withAt = (entry) => ({ ...entry, at: moment(entry.at) });
  const times = ({ start, end, latest, ...rest }) => ({ start: moment(start), end: moment(end), latest: moment(latest), ...rest });
  const step = (one) => ({ ...one, begun: moment(one.begun), ended: moment(one.ended), changes: one.changes.map(withAt), answers: one.answers.map(withAt), plan: one.plan && times(one.plan), ripe: one.ripe && withAt(one.ripe) });
  const told = {
    ...state,
    now: moment(state.now),
    opened: moment(state.opened),
    closed: moment(state.closed),
    plates: state.plates.map((plate) => ({ ...plate, steps: plate.steps.map(step), redone: plate.redone.map(withAt), grading: plate.grading && withAt(plate.grading) })),
    readings: state.readings.map(withAt),
    remarks: state.remarks.map(withAt),
    offer: state.offer && withAt(state.offer),
  };
  return { ...told, hands: handsNext(told), next_planned: nextPlanned(told) };
}
