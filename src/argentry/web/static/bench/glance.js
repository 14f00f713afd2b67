// What one glance should show: which plate is in hand, which wait, and the next caution. Pure.

import { readMoment, writeMoment } from "./moments.js";
import { GLANCE, PLAN, fill } from "./say.js";
import { counting, dayClock, firstClause, length, minutes, wallAt, wallClock } from "./words.js";

const SECONDS_COUNT = ["fuming", "exposure"]; // steps of these laws are ended before their check is asked
const LATE_US = 60e6; // a step that ends later than this after its plan says both times
const SOON_S = 1200; // hands that no plate wants within this are free for a question

export const ruleOf = (state, key) => state.steps.find((step) => step.key === key);
export const plateOf = (state, id) => state.plates.find((plate) => plate.id === id);
export const stepOf = (plate, key) => plate.steps.find((step) => step.key === key);
export const cautionsDue = (state, key) => ruleOf(state, key).cautions.filter((one) => !state.shown.includes(one.key) && (one.asks_again || !state.read.includes(one.key)));

/** The cautions of the day that were neither read together nor shown at a step, each once. */
export function cautionsUnread(state) {
  if (state.state === "closed" || state.plates.some((plate) => plate.begun)) return [];
  const all = new Map(state.steps.flatMap((step) => step.cautions).map((one) => [one.key, one]));
  return [...all.values()].filter(({ key }) => !state.read.includes(key) && !state.shown.includes(key));
}

/** The check whose answer ends a step with the same press: not where every second counts, nor of a step that works alone and is ended before its time. */
export function answeredAtEnd(rule, step) {
  if (SECONDS_COUNT.includes(rule.law) || !(rule.attended || step.left_s <= 0)) return null;
  return rule.checks.find((one) => one.when === "after") ?? null;
}

/** The plate whose questions are asked next when no other wants hands. */
export const toBeGraded = (state) => state.plates.find((plate) => plate.grade_due && !plate.put_off) ?? null;

/** What the clock saw of the step done last, where that was too short; else nothing. */
export function tooShort(state, plate) {
  const last = plate.steps.findLast((step) => step.state === "done");
  return last?.short ? fill(GLANCE.short, { title: ruleOf(state, last.key).title, lasted: length(last.elapsed_s), planned: length(last.planned_s) }) : "";
}

/** What a hand saw of the step done last, where its check was wrong: whoever takes the plate on is told. */
export function wrongBefore(state, plate) {
  const last = plate.steps.findLast((step) => step.state === "done");
  return last?.answer === "wrong" ? fill(GLANCE.wrong, ruleOf(state, last.key)) : "";
}

/** Whether a check answered wrong still asks what to do: the answer stands, and no other step of the plate goes on. */
export function stillWrong(state, { plate: id, step: key }) {
  const plate = plateOf(state, id);
  const wrong = stepOf(plate, key).answers.some((one) => one.answer === "wrong");
  return wrong && plate.state === "open" && plate.steps.every((step) => step.key === key || step.state !== "running");
}

/** The check that is asked now: one at an end not overtaken by the next step, else one of the step in hand: {plate, step} or null. */
export function checkDue(state, chosen) {
  if (state.state === "closed") return null;
  for (const plate of state.plates) {
    if (plate.state === "abandoned" || plate.state === "withdrawn") continue;
    const last = plate.steps.findLast((step) => step.state === "done");
    const running = plate.steps.some((step) => step.state === "running");
    if (last?.check_due && !running) return { plate, step: last };
  }
  const want = inHand(state, chosen);
  if (!want?.check || want.want === "paused" || want.waits_for) return null;
  const plate = plateOf(state, want.plate);
  return { plate, step: stepOf(plate, want.check) };
}

/** The steps of a plate that may be done again, the last one first: none while one is going on or once it is exposed. */
export function mayGoBack(state, plate) {
  const exposed = plate.steps.some((step) => step.begun !== null && ruleOf(state, step.key).law === "exposure");
  const goingOn = plate.steps.some((step) => step.state === "running");
  if (plate.state !== "open" || state.state === "closed" || exposed || goingOn) return [];
  return plate.steps.filter((step) => step.state === "done" || step.state === "skipped").reverse();
}

/** The plate in hand: the one chosen by touch, else the most pressing; none while hands are free to say how one came out. */
export function inHand(state, chosen) {
  const own = state.hands.find((want) => want.plate === chosen);
  if (!own && toBeGraded(state) && state.hands.every(waitsLong)) return null;
  return own ?? state.hands[0] ?? null;
}

/** Whether a plate waits for its hour or light, or is left out: twin of `hands_free` in bench/hands.py. */
function waitsLong(want) {
  if (want.check && want.check !== want.step) return false; // the check of the step just done is asked first
  const until = { begin: want.planned_in_s, wait: want.in_s }[want.want] ?? null;
  return want.want === "left_out" || (until !== null && until > SOON_S);
}

/** What the screen asks about, as a name: the step of the check that is due, else the step in hand. */
export function asked(state, chosen) {
  const due = checkDue(state, chosen);
  const want = inHand(state, chosen);
  return due ? `check ${due.plate.id} ${due.step.key} ${due.step.ask.when} ${due.step.ask.at_minutes}` : `${want?.plate} ${want?.step} ${want?.action}`;
}

/** When a step is planned; where what ended before decides, never by a clock time alone. Empty without a plan. */
export function plannedWords(step, now) {
  const { plan, state } = step;
  if (!plan || !["waiting", "ready", "running"].includes(state)) return "";
  if (state === "running") return plan.end === null ? "" : untilWords(step, now);
  const start = dayClock(plan.start, now);
  if (plan.limit && plan.latest === null) return fill(PLAN.about, { limit: plan.limit, start });
  const keeps = step.keep_left_s !== null && step.keep_left_s < step.float_s; // told beside it, and alone
  if (plan.latest === null || step.float_s === null || keeps) return fill(PLAN.planned, { start });
  const room = fill(step.float_s < 0 ? PLAN.behind : PLAN.room, { span: minutes(Math.abs(step.float_s)) });
  return fill(PLAN.latest, { start, latest: dayClock(plan.latest, now), room });
}

/** Until when a running step is planned and, where it is late, until when it goes now: twin of `_until` in bench/words.py. */
function untilWords({ plan, left_s }, now) {
  const planned = fill(PLAN.until, { end: dayClock(plan.end, now) });
  const goes = readMoment(now) + left_s * 1e6;
  if (left_s <= 0 || goes - readMoment(plan.end) < LATE_US) return planned;
  return fill(PLAN.later, { planned, end: dayClock(writeMoment(goes), now) });
}

/** When a step of a plate is planned, and in which frame where it has one. */
export function plannedHere(state, plate, step) {
  const planned = plannedWords(step, state.now);
  const frame = plate.steps.find((one) => ruleOf(state, one.key).law === "development")?.plan?.held;
  return forWhom(state, plate, step, planned && frame && step.plan.held === frame ? fill(PLAN.inFrame, { planned, frame }) : planned);
}

/** Who comes for a plate, when, and the opening asked for; empty for nobody: twin of `sitter_of` in bench/words.py. */
function sitterOf(state, plate) {
  const sitter = state.constants.sitters?.[plate.id];
  if (!sitter) return "";
  const told = fill(PLAN.sitter, { name: sitter.name || PLAN.aSitter, time: sitter.time ?? "" });
  return sitter.f_number == null ? told : fill(PLAN.atOpening, { sitter: told, stop: String(sitter.f_number) });
}

/** The same with the plate's sitter until it is exposed. */
function forWhom(state, plate, step, planned) {
  const sitter = sitterOf(state, plate);
  const exposed = plate.steps.findIndex((one) => ruleOf(state, one.key).law === "exposure");
  return planned && sitter && plate.steps.indexOf(step) <= exposed ? fill(PLAN.forWhom, { planned, sitter }) : planned;
}

/** When the plan has a plate's current step and the one after it. */
export function planWords(state, plate) {
  if (plate.current === null) return "";
  const now = plannedHere(state, plate, stepOf(plate, plate.current));
  const after = plate.steps.slice(plate.steps.findIndex((step) => step.key === plate.current) + 1).find((step) => step.state === "waiting");
  const planned = after ? plannedWords(after, state.now) : "";
  return now && planned ? fill(PLAN.then, { now, title: ruleOf(state, after.key).title, planned }) : now;
}

/** The new plan that waits for an answer, in one line with its odds; empty when none does. */
export function offerLine({ offer }) {
  if (!offer) return "";
  const [line = "", ...others] = offer.lines;
  const more = others.length ? (others.length > 1 ? fill(PLAN.more, { count: others.length }) : PLAN.oneMore) : "";
  const percent = (share) => Math.round(100 * share);
  if (offer.more && !others.length) return line; // it says its own odds
  const [share, kept] = [percent(offer.share), percent(offer.kept_share)];
  const by = offer.kept_share === null ? PLAN.alone : share === kept ? PLAN.either : PLAN.odds;
  const odds = offer.share === null ? "" : fill(by, { share, kept });
  const changes = offer.moved.length || offer.left_out.length || offer.share !== offer.kept_share;
  const said = changes ? fill(PLAN.offer, { line }) : line;
  return [said, more, odds].filter(Boolean).join(" ");
}

/** The clock time beside what a plate has left, never against it: a running step's end as it goes now, of another the planned begin or when it is free, the later; none once over time or with its clock stopped. */
function clockOf(state, want) {
  const { plan } = stepOf(plateOf(state, want.plate), want.step);
  const now = readMoment(state.now) / 1e6;
  if (want.action === "end") return plan && want.want !== "paused" && want.left_s > 0 ? wallAt(now + want.left_s) : "";
  const begin = plan?.start ? readMoment(plan.start) / 1e6 : null;
  return begin === null ? "" : wallAt(want.want === "wait" ? Math.max(begin, now + want.in_s) : begin);
}

/** The step the plan gives these hands next, as a line of those that wait; null where it is the one in hand. */
export function nextLine(state, want) {
  const next = state.next_planned;
  if (!next || (next.plate === want?.plate && next.step === want.step)) return null;
  const step = stepOf(plateOf(state, next.plate), next.step);
  return { label: PLAN.next, what: fill(PLAN.nextStep, { label: next.label, title: ruleOf(state, next.step).title }), left: wallClock(step.plan.start), calls: step.float_s !== null && step.float_s < 0 };
}

/** One line about a plate that waits, with a clock time where a plan stands: {label, what, left, calls}. */
export function waitingLine(state, want) {
  const line = plainLine(state, want);
  return { ...line, left: [clockOf(state, want), line.left].filter(Boolean).join(" · ") };
}

/** One line about a plate that waits: {label, what, left, calls}. */
export function plainLine(state, want) {
  const title = ruleOf(state, want.step).title;
  const begin = fill(GLANCE.begin, { title });
  const line = { label: want.label, what: title, left: "", calls: false };
  if (want.want === "paused") return { ...line, left: "paused", calls: want.action === "end" && state.state !== "paused" }; // left standing in mid-step
  if (want.want === "left_out") return { ...line, what: begin, left: PLAN.leftOut };
  if (want.want === "ripe") return { ...line, left: fill(GLANCE.ripe, { time: counting(want.left_s) }), calls: true };
  if (want.want === "look") return { ...line, left: GLANCE.lookNow, calls: true };
  if (want.action === "end") return { ...line, left: counting(want.left_s) };
  if (want.want === "wait") return { ...line, what: begin, left: fill(GLANCE.freeIn, { time: counting(Math.max(0, want.in_s)) }) };
  if (want.keep_left_s !== null) {
    const left = want.keep_left_s;
    if (ruleOf(state, want.step).within_s === 0) return { ...line, what: begin, left: "now", calls: true };
    return { ...line, what: begin, left: fill(left < 0 ? GLANCE.late : GLANCE.within, { time: counting(left) }), calls: want.want === "keep" };
  }
  return { ...line, what: begin, left: GLANCE.mayBegin };
}

/** The cautions in sight: those of the step in hand, else of the plate's next step; empty when there are none. */
export function cautionsInSight(state, want) {
  const plate = plateOf(state, want.plate);
  // what can explode, burn or poison first: a small screen has three lines
  const said = (key) => [...ruleOf(state, key).cautions].sort((a, b) => b.asks_again - a.asks_again).map((one) => firstClause(one.text)).join(". ");
  const own = said(want.step);
  if (own) return `${own}.`;
  const next = plate.steps.slice(plate.steps.findIndex((step) => step.key === want.step) + 1).find((step) => step.state === "waiting");
  return next && said(next.key) ? fill(GLANCE.before, { title: ruleOf(state, next.key).title, cautions: said(next.key) }) : "";
}

/** What calls now, for voice and tones: Map of a key to {words, kind}. */
export function calls(state) {
  const found = new Map();
  if (state.offer) found.set(`plan ${state.offer.event}`, { words: fill(PLAN.offer, { line: state.offer.lines[0] ?? "" }), kind: "caution" });
  for (const want of state.hands) {
    const { title } = ruleOf(state, want.step);
    const { label } = want;
    if (want.want === "ripe") found.set(`up ${want.plate} ${want.step}`, { words: fill(GLANCE.timeIsUp, { label, title }), kind: "up" });
    if (want.want === "look") found.set(`look ${want.plate} ${want.step} ${stepOf(plateOf(state, want.plate), want.step).ask?.at_minutes}`, { words: fill(GLANCE.lookAtIt, { label, title }), kind: "limit" });
    if (want.want === "keep") found.set(`limit ${want.plate} ${want.step}`, { words: fill(GLANCE.hurry, { label, title }), kind: "limit" });
  }
  return found;
}
