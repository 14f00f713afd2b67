// The plan that stands in a run, and new ones offered, taken or turned down: twin of book/runs/plans.py.

import { isTable } from "./corrections.js";
import { readMoment } from "./moments.js";
import { fill } from "./say.js";

const NO_OFFER = "no such plan was offered in this run";
const ANSWERED = "the plan was {word} already";
const OVERTAKEN = "a newer plan was offered since";
const table = (value) => (isTable(value) ? value : {});
const list = (value) => (Array.isArray(value) ? value : []);
const share = (value) => (typeof value === "number" && value >= 0 && value <= 1 ? value : null);
const moment = (value) => (typeof value === "string" ? readMoment(value) : null);

function rowsOf(value) {
  const rows = new Map();
  for (const [plate, own] of Object.entries(table(value))) {
    const times = new Map();
    for (const [key, row] of Object.entries(table(own))) {
      const { start, end, latest, limit, held } = table(row);
      if (moment(start) !== null) times.set(key, { start: moment(start), end: moment(end), latest: moment(latest), limit: String(limit || ""), held: String(held || "") });
    }
    rows.set(plate, times);
  }
  return rows;
}

/** The plan a run was opened with, by plate and step; of older runs the begins only. */
export function openedPlan(body) {
  if ("plan" in body) return rowsOf(body.plan);
  const starts = Object.entries(table(table(body.constants).starts)).filter(([, own]) => isTable(own));
  return rowsOf(Object.fromEntries(starts.map(([plate, own]) => [plate, Object.fromEntries(Object.entries(own).map(([step, start]) => [step, { start }]))])));
}

/** The plate more of an offer; null for none, and for one that was taken already. */
function moreOf(run, value) {
  const { id, label, once } = table(value);
  if (typeof id !== "string" || typeof label !== "string" || !id || !label || run.plates.some((plate) => plate.id === id)) return null;
  return { id, label, once: list(once).filter((key) => typeof key === "string") };
}

/** The rules of the events, given how a doubt is noted. */
export function planRules(doubt) {
  /** The offer that an event answers, or null and a doubt. */
  function answered(run, event, word) {
    const known = run.offers.get(event.body.offer);
    if (run.closed !== null) doubt(run, event, "the run was over");
    else if (!known) doubt(run, event, NO_OFFER);
    else if (run.offer?.event === known.offer.event) {
      run.offer = null;
      run.answers.set(known.offer.event, word);
      return known;
    } else {
      const said = run.answers.get(known.offer.event);
      doubt(run, event, said ? fill(ANSWERED, { word: said }) : OVERTAKEN);
    }
    return null;
  }

  return {
    plan_offered(run, event) {
      if (run.closed !== null) return void doubt(run, event, "the run was over");
      const { body } = event;
      run.offer = {
        event: event.id,
        at: event.micros,
        why: String(body.why || ""),
        lines: list(body.lines).filter((one) => typeof one === "string"),
        moved: list(body.moved).filter((one) => Array.isArray(one) && one.length === 2 && one.every((part) => typeof part === "string")),
        left_out: list(body.left_out).filter((id) => run.plates.some((plate) => plate.id === id)),
        kept_share: share(body.kept_share),
        share: share(body.share),
        more: moreOf(run, body.more),
      };
      run.offers.set(event.id, { offer: run.offer, rows: rowsOf(body.plan) });
    },

    plan_taken(run, event) {
      const known = answered(run, event, "taken");
      if (!known) return;
      const { offer, rows } = known;
      run.standing = offer.event;
      for (const plate of run.plates) {
        plate.left_out = offer.left_out.includes(plate.id);
        const own = plate.left_out ? null : rows.get(plate.id);
        for (const step of plate.steps) {
          const row = own?.get(step.rule.key) ?? null;
          if (step.state === "running" && row && step.plan) step.plan = { ...step.plan, end: row.end };
          else if (step.state === "waiting" && (row || plate.left_out)) step.plan = row;
        }
      }
    },

    plan_declined(run, event) {
      const known = answered(run, event, "turned down");
      if (known) run.turnedDown.push(known.offer.event);
    },
  };
}
