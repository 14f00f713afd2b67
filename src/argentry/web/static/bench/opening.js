// What a run was opened with: twin of book/runs/opening.py. Missing or wrong parts are taken as nothing.

import { isTable } from "./corrections.js";

const MOMENTS = ["before", "during", "after"];
const text = (value, otherwise = "") => String(value || otherwise);
const tables = (value) => (Array.isArray(value) ? value.filter(isTable) : []);
const seconds = (value) => (typeof value === "number" && value >= 0 && value < 1e9 ? value : null);

/** Return [{id, label}], each id once. */
export function openedPlates(body) {
  const found = new Map();
  for (const { id, label } of tables(body.plates)) if (typeof id === "string" && id && !found.has(id)) found.set(id, { id, label: text(label, id) });
  return [...found.values()];
}

/** Return the steps of the run, each key once. */
export function openedSteps(body) {
  const found = new Map();
  for (const entry of tables(body.steps)) {
    if (typeof entry.key === "string" && entry.key && !found.has(entry.key)) found.set(entry.key, readStep(entry));
  }
  return [...found.values()];
}

function readStep(entry) {
  const planned = seconds(entry.planned_s) ?? 0;
  const checks = readChecks(entry);
  return {
    key: entry.key,
    title: text(entry.title, entry.key),
    law: text(entry.law, "fixed"),
    planned_s: planned,
    low_s: seconds(entry.low_s) ?? planned,
    high_s: seconds(entry.high_s) ?? planned,
    attended: entry.attended !== false,
    resource: text(entry.resource),
    within_s: seconds(entry.within_s),
    look_for: text(entry.look_for),
    check: checks.find((one) => one.when === "after")?.text ?? "",
    cautions: tables(entry.cautions).filter((one) => typeof one.key === "string").map((one) => ({ key: one.key, text: text(one.text), asks_again: one.asks_again !== false })),
    speak: text(entry.speak),
    stage: text(entry.stage),
    checks,
    made_of: text(entry.made_of),
  };
}

/** A step's checks, one for each moment; of an older run the one at its end. */
function readChecks(entry) {
  if (!("checks" in entry) && entry.check) return [{ when: "after", text: text(entry.check), at_minutes: null }];
  const found = new Map();
  for (const one of tables(entry.checks)) {
    const minutes = seconds(one.at_minutes);
    const key = `${one.when} ${minutes}`;
    if (MOMENTS.includes(one.when) && one.text && (minutes !== null) === (one.when === "during") && !found.has(key)) found.set(key, { when: one.when, text: text(one.text), at_minutes: minutes });
  }
  return [...found.values()];
}
