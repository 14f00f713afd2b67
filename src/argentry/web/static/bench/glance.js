// What one glance should show: which plate is in hand, which wait, and the next caution. Pure.

import { counting, firstClause } from "./words.js";

export const ruleOf = (state, key) => state.steps.find((step) => step.key === key);
export const plateOf = (state, id) => state.plates.find((plate) => plate.id === id);
export const stepOf = (plate, key) => plate.steps.find((step) => step.key === key);
export const cautionsDue = (state, key) => ruleOf(state, key).cautions.filter((one) => !state.shown.includes(one.key) && (one.asks_again || !state.read.includes(one.key)));

/** The first check that is due and not overtaken by the next step: {plate, step} or null. */
export function checkDue(state) {
  for (const plate of state.plates) {
    if (plate.state === "abandoned") continue;
    const last = plate.steps.findLast((step) => step.state === "done");
    const running = plate.steps.some((step) => step.state === "running");
    if (last?.check_due && !running) return { plate, step: last };
  }
  return null;
}

/** The steps of a plate that may be done once more, the last one first: none while one is going on or once it is exposed. */
export function mayGoBack(state, plate) {
  const exposed = plate.steps.some((step) => step.begun !== null && ruleOf(state, step.key).law === "exposure");
  const goingOn = plate.steps.some((step) => step.state === "running");
  if (plate.state !== "open" || state.state === "closed" || exposed || goingOn) return [];
  return plate.steps.filter((step) => step.state === "done" || step.state === "skipped").reverse();
}

/** The plate in hand: the one chosen by touch, else the most pressing. */
export function inHand(state, chosen) {
  return state.hands.find((want) => want.plate === chosen) ?? state.hands[0] ?? null;
}

/** What the screen asks about, as a name: the step of the check that is due, else the step in hand. */
export function asked(state, chosen) {
  const due = state.state === "closed" ? null : checkDue(state);
  const want = inHand(state, chosen);
  return due ? `check ${due.plate.id} ${due.step.key}` : `${want?.plate} ${want?.step} ${want?.action}`;
}

/** One line about a plate that waits: {label, what, left, calls}. */
export function waitingLine(state, want) {
  const title = ruleOf(state, want.step).title;
  const begin = `begin: ${title}`;
  const line = { label: want.label, what: title, left: "", calls: false };
  if (want.want === "paused") return { ...line, left: "paused" };
  if (want.want === "ripe") return { ...line, left: `ripe ${counting(want.left_s)}`, calls: true };
  if (want.action === "end") return { ...line, left: counting(want.left_s) };
  if (want.want === "wait") return { ...line, what: begin, left: `free in ${counting(Math.max(0, want.in_s))}` };
  if (want.keep_left_s !== null) {
    const left = want.keep_left_s;
    if (ruleOf(state, want.step).within_s === 0) return { ...line, what: begin, left: "now", calls: true };
    return { ...line, what: begin, left: left < 0 ? `late ${counting(left)}` : `within ${counting(left)}`, calls: want.want === "keep" };
  }
  return { ...line, what: begin, left: "may begin" };
}

/** The next caution of the plate in hand, in a few words; empty when there is none. */
export function nextCaution(state, want) {
  const plate = plateOf(state, want.plate);
  const here = plate.steps.findIndex((step) => step.key === want.step);
  const own = ruleOf(state, want.step).cautions;
  for (const step of plate.steps.slice(here + (want.action === "end" ? 1 : 0))) {
    if (step.key === want.step || step.state !== "waiting") continue;
    const due = cautionsDue(state, step.key);
    const next = ruleOf(state, step.key);
    if (due.length) return `Before “${next.title}”: ${due.map((one) => firstClause(one.text)).join(". ")}.`;
    break;
  }
  return own.length ? `${own.map((one) => firstClause(one.text)).join(". ")}.` : "";
}

/** What calls now, for voice and tones: Map of a key to {words, kind}. */
export function calls(state) {
  const found = new Map();
  for (const want of state.hands) {
    const { title } = ruleOf(state, want.step);
    if (want.want === "ripe") found.set(`up ${want.plate} ${want.step}`, { words: `${want.label}. Time is up. ${title}.`, kind: "up" });
    if (want.want === "keep") found.set(`limit ${want.plate} ${want.step}`, { words: `${want.label}. Hurry. ${title}.`, kind: "limit" });
  }
  return found;
}
