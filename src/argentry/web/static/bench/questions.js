// How a plate came out, and why it is given up: one question after the other. Twin of
// bench/questions.py; the words come from the server with the page. Pure.

import { lastDone } from "./hands.js";
import { LABELS, LIST, fill } from "./say.js";

export const trade = JSON.parse(document.body?.dataset.trade ?? "{}");

const capital = (words) => words[0].toUpperCase() + words.slice(1);
const plain = (words) => (words.toLowerCase().replaceAll("_", " ").match(/[\p{L}\p{N}]+/gu) ?? []).join(" ");
/** What a defect is called wherever a person reads of it; twin of defect_look in trade/defects.py. */
export const lookOf = (key) => trade.defects?.find(([one]) => one === key)?.[1] ?? String(key).replaceAll("_", " ");
const same = (a, b) => a[0] === b[0] && a[1] === b[1];
const has = (pairs, pair) => pairs.some((one) => same(one, pair));
const once = (pairs) => pairs.filter((pair, place) => pairs.findIndex((one) => same(one, pair)) === place);
const stageOf = (state, key) => state.steps.find((step) => step.key === key)?.stage || trade.stage_of[key] || "";

function originOf(key, stage) {
  const [, , stages] = trade.defects.find(([one]) => one === key);
  return stages.includes(stage) ? stage : stages[0];
}

/** Keys of the defects that a remark names by key or look. */
export function namedIn(words) {
  const said = ` ${plain(words)} `;
  return trade.defects.filter(([key, look]) => [key, look].some((name) => said.includes(` ${plain(name)} `))).map(([key]) => key);
}

/** The first question about a plate: how it came out, or why it is given up. */
export function newForm(state, id, givesUp = false) {
  const plate = state.plates.find((one) => one.id === id);
  const noted = new Map();
  for (const { plate: about, step, words } of state.remarks) {
    if (about === id) for (const key of namedIn(words)) noted.set(key, originOf(key, stageOf(state, step ?? "")));
  }
  return { plate: id, label: plate.label, asking: givesUp ? "reason" : "grade", givesUp, stage: stageOf(state, standsAt(plate)), noted: [...noted], grade: null, verdict: null, outward: null, faults: [], defects: [], words: "" };
}

/** The step a plate stands at: one just done whose check was wrong, else the next. */
function standsAt(plate) {
  const last = lastDone(plate);
  const goingOn = plate.steps.some((step) => step.state === "running");
  return last?.answer === "wrong" && !goingOn ? last.key : plate.current ?? "";
}

export const isOver = (form) => form.asking === "done" || form.asking === "later";

export function question(form) {
  const look = form.asking === "named" ? lookOf(form.noted[0][0]) : "";
  return fill(trade.questions[form.asking], { label: form.label, stage: form.stage, look });
}

const CHOICES = {
  grade: () => trade.grades.map((key) => [key, capital(key)]),
  stage(form) {
    const noted = form.noted.filter((one) => !has(form.defects, one)).map(([key, stage]) => [`${key} ${stage}`, fill(LIST.noted, { look: lookOf(key) })]);
    const told = [...noted, ...trade.stages.map((key) => [key, capital(key)])];
    return form.givesUp ? told : [...told, ["unsaid", LABELS.cannotSay]];
  },
  defect(form) {
    const looks = trade.defects.filter(([, , stages]) => stages.includes(form.stage)).map(([key, look]) => [key, capital(look)]);
    return [...looks, ...(form.givesUp ? [["another", LABELS.anotherStage]] : []), ["unsaid", LABELS.noneOfThese]];
  },
  exposure: (form) => [...trade.verdicts.map((key) => [key, capital(key)]), ["unsaid", LABELS.cannotSay], ...(form.grade === trade.grades.at(-1) ? [] : [["another", LABELS.oneMoreDefect]]), ["remark", "Remark"]],
  named: () => [["yes", LABELS.noteIt], ["no", LABELS.remarkOnly]],
  reason: () => [["fault", trade.fault], ...Object.entries(trade.outward)],
};

/** What may be answered: [key, words]; *Later* of a grading stands apart. */
export const choices = (form) => CHOICES[form.asking](form);

const failed = (form, stage) => ({ ...form, faults: [...new Set([...form.faults, stage])] });

function seen(form, key) {
  if (key === "another") return { ...form, asking: "stage" };
  const more = key === "unsaid" ? form : { ...form, defects: once([...form.defects, [key, form.stage]]) };
  return { ...failed(more, form.stage), asking: form.givesUp ? "done" : "exposure" };
}

const NEXT = {
  grade: (form, key) => ({ ...form, grade: key, asking: key === trade.grades.at(-1) ? "exposure" : "stage" }),
  stage(form, key) {
    if (key === "unsaid") return { ...form, asking: "exposure" };
    if (trade.stages.includes(key)) {
      const next = { ...form, stage: key, asking: "defect" };
      return form.givesUp ? next : failed(next, key);
    }
    const [defect, stage] = key.split(" ");
    return seen({ ...form, stage }, defect);
  },
  defect: seen,
  exposure: (form, key) => (key === "another" ? { ...form, asking: "stage" } : { ...form, verdict: key === "unsaid" ? null : key, asking: "done" }),
  named(form, key) {
    const [[defect, stage], ...noted] = form.noted;
    const rest = { ...form, noted, stage };
    return { ...(key === "yes" ? seen(rest, defect) : rest), asking: noted.length ? "named" : "exposure" };
  },
  reason(form, key) {
    if (key !== "fault") return { ...form, outward: key, asking: "done" };
    return { ...form, asking: form.noted.length || !form.stage ? "stage" : "defect" };
  },
};

/** The form with one more answer. */
export const answered = (form, key) => (key === "later" ? { ...form, asking: "later" } : NEXT[form.asking](form, key));

/** The form with a remark; one that names a defect asks whether it is that defect. */
export function remarked(form, words) {
  const named = namedIn(words).filter((key) => !form.defects.some(([one]) => one === key)).map((key) => [key, originOf(key, form.stage)]);
  return { ...form, words, ...(named.length ? { noted: named, asking: "named" } : {}) };
}

/** The event that a form comes to: {kind, body}. */
export function toldBy(form, state) {
  const [defect = null] = form.defects[0] ?? [];
  if (form.asking === "later") return { kind: "grading_put_off", body: {} };
  if (form.givesUp) {
    const why = form.outward ? trade.outward[form.outward] : defect ? lookOf(defect) : trade.fault;
    return { kind: "plate_abandoned", body: { stage: form.stage, reason: form.outward ? "outward" : "fault", defect, outward: form.outward, why } };
  }
  // Stages before the first that failed went well, but for what the clock, a check or the verdict saw.
  const { steps } = state.plates.find((one) => one.id === form.plate);
  const doubted = steps.filter((step) => step.short || step.answers.some((one) => one.answer === "wrong")).map((step) => stageOf(state, step.key));
  const good = trade.grades.slice(2).includes(form.grade);
  if (!good && ![null, "right"].includes(form.verdict)) doubted.push("exposure");
  const first = form.faults.length ? Math.min(...form.faults.map((stage) => trade.stages.indexOf(stage))) : good ? trade.stages.length : 0;
  const well = trade.stages.slice(0, first).filter((stage) => !doubted.includes(stage));
  const stages = Object.fromEntries([...well.map((stage) => [stage, "ok"]), ...form.faults.map((stage) => [stage, "fault"])]);
  return { kind: "making_graded", body: { grade: form.grade, verdict: form.verdict, defects: form.defects, stages, words: form.words } };
}
