// Which plate wants hands next, and in how many seconds: twin of bench/hands.py.

import { compare } from "./corrections.js";
import { readMoment } from "./moments.js";

const URGENT_S = 120; // a keeping limit this near its end goes before work in hand
const WANTS = ["ripe", "keep", "look", "busy", "begin_kept", "begin", "wait", "left_out", "paused"];
const BY = { ripe: "left_s", keep: "keep_left_s", busy: "left_s", begin_kept: "keep_left_s", begin: "planned_in_s", wait: "in_s" };

/** Return what each open plate wants, the most pressing first. */
export function handsNext(state) {
  if (state.state === "none" || state.state === "closed") return [];
  const wants = state.plates.map((plate, order) => ({ plate, order })).filter(({ plate }) => plate.state === "open").map(({ plate, order }) => ({ want: wantOf(state, plate), order }));
  const unknown = (want) => (want.want === "begin" ? Infinity : 0); // what the plan does not hold yet comes after it
  const pressing = ({ want, order }) => [WANTS.indexOf(want.want), want[BY[want.want]] ?? unknown(want), order];
  return wants.sort((a, b) => compare(pressing(a), pressing(b))).map(({ want }) => want);
}

const stepOf = (plate, key) => plate.steps.find((step) => step.key === key);
const ruleOf = (state, key) => state.steps.find((step) => step.key === key);
/** The step of a plate that was done last, or null. */
export const lastDone = (plate) => plate.steps.findLast((step) => step.state === "done") ?? null;

function wantOf(state, plate) {
  const step = stepOf(plate, plate.current);
  const rule = ruleOf(state, plate.current);
  let holder = null;
  let want;
  let inS;
  if (state.state === "paused" || plate.paused) [want, inS] = ["paused", null];
  else if (step.state === "running") {
    if (step.left_s <= 0) [want, inS] = ["ripe", step.left_s];
    else if (step.ask) [want, inS] = ["look", 0];
    else if (rule.attended) [want, inS] = ["busy", 0];
    else [want, inS] = ["wait", untilLook(rule, step)];
  } else {
    [holder, inS] = holderOf(state, plate, rule.resource);
    if (holder !== null) want = "wait";
    else if (step.keep_left_s !== null) want = step.keep_left_s <= URGENT_S ? "keep" : "begin_kept";
    else if (plate.left_out) [want, inS] = ["left_out", null];
    else want = "begin";
  }
  const last = lastDone(plate);
  return {
    plate: plate.id,
    label: plate.label,
    step: plate.current,
    action: step.state === "running" ? "end" : "begin",
    want,
    in_s: inS,
    left_s: step.left_s,
    keep_left_s: step.keep_left_s,
    waits_for: holder,
    check: step.state !== "running" && last?.check_due ? last.key : step.ask && step.key,
    planned_in_s: step.state === "ready" ? untilPlanned(state, step) : null,
  };
}

const untilPlanned = (state, step) => (step.plan === null ? null : (readMoment(step.plan.start) - readMoment(state.now)) / 1e6);

/** The step for hands that the plan begins next: {plate, label, step, in_s} or null. */
export function nextPlanned(state) {
  if (state.state === "none" || state.state === "closed") return null;
  const found = [];
  state.plates.forEach((plate, order) => {
    if (plate.state !== "open") return;
    for (const step of plate.steps) {
      if (step.plan === null || !ruleOf(state, step.key).attended || !["waiting", "ready"].includes(step.state)) continue;
      found.push([untilPlanned(state, step), order, { plate: plate.id, label: plate.label, step: step.key }]);
    }
  });
  if (!found.length) return null;
  const [inS, , next] = found.reduce((first, one) => (compare(one.slice(0, 2), first.slice(0, 2)) < 0 ? one : first));
  return { ...next, in_s: inS };
}

/** Seconds until a running step is ripe or is to be looked at. */
function untilLook(rule, step) {
  const looks = rule.checks.filter((one) => one.at_minutes !== null).map((one) => 60 * one.at_minutes - step.elapsed_s);
  return Math.min(step.left_s, ...looks.filter((left) => left > 0));
}

function holderOf(state, plate, resource) {
  if (!resource || heldBy(state, plate) === resource) return [null, 0];
  const taken = state.plates
    .map((other, order) => [other, order])
    .filter(([other]) => other.id !== plate.id && heldBy(state, other) === resource)
    .map(([other, order]) => [Math.max(runningLeft(other), 0), order, other]);
  const kind = plannedKind(state, plate, resource);
  const alike = taken.filter(([, , other]) => plannedKind(state, other, resource) === kind);
  const kinds = countsOf(state, "of_a_kind");
  const full = kind in kinds && alike.length >= kinds[kind];
  if (!full && taken.length < (countsOf(state, "resources")[resource] ?? 1)) return [null, 0];
  const [left, , holder] = (full ? alike : taken).sort((a, b) => compare(a.slice(0, 2), b.slice(0, 2)))[0];
  return [holder.id, left];
}

function countsOf(state, name) {
  const counts = state.constants[name];
  return typeof counts === "object" && counts !== null && !Array.isArray(counts) ? counts : {};
}

/** Which of several kinds the plan gives a plate: its times go by that one. */
function plannedKind(state, plate, resource) {
  const own = plate.steps.filter((step) => ruleOf(state, step.key).resource === resource);
  return own.map((step) => step.plan).find((plan) => plan?.held)?.held ?? "";
}

function heldBy(state, plate) {
  if (plate.state !== "open" || plate.current === null) return "";
  const step = stepOf(plate, plate.current);
  if (step.state === "running") return ruleOf(state, step.key).resource;
  const last = lastDone(plate);
  const kept = state.steps.find((rule) => rule.law === "development")?.resource ?? "";
  return last !== null && ruleOf(state, last.key).resource === kept ? kept : "";
}

function runningLeft(plate) {
  const step = stepOf(plate, plate.current);
  return step.state === "running" ? step.left_s : 0;
}
