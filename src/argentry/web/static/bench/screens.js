// Each screen as a plain description: what is said and which targets there are. Pure; draw.js
// puts it on the glass. Strings under `live` may change every second without a new screen.

import { answeredAtEnd, cautionsDue, cautionsInSight, cautionsUnread, checkDue, inHand, mayGoBack, nextLine, offerLine, plainLine, planWords, plannedHere, plateOf, ruleOf, stepOf, toBeGraded, tooShort, waitingLine, wrongBefore } from "./glance.js";
import { dewWords } from "./dew.js";
import { choices as formChoices, lookOf, newForm, question, trade } from "./questions.js";
import { lookScreen } from "./coat.js";
import { LABELS, LOOK, SCREEN, WHY, fill } from "./say.js";
import { REMARKS, counting, countedFrom, length, lengthRange, quantitiesAt, told, wallClock } from "./words.js";

const EARLY_S = 1200; // idle hands may begin this much before the plan that stands (LEAD in plan/again.py)
const BEFORE_LIGHT = ["polish", "coat", "exposure"];
const MOST_WAITING = 4;
const ANSWERS = [["right", "Right"], ["doubtful", "Doubtful"], ["wrong", "Wrong"]];
const A_PAGE = { list: 5, plates: 4, redo: 5, more: 10, readings: 10, form: 10 }; // targets that a phone holds without scrolling
const BACK = { act: "back", label: "Back" };
const choice = (act, label, arg = null, more = {}) => ({ act, label, arg, ...more });

/** How many targets one page of a screen holds. */
export const pageSize = (name) => A_PAGE[name] ?? 1;

/** Return the description of the screen that `page` is on. */
export function describe(page) {
  const build = SCREENS[page.screen] ?? SCREENS.hand;
  const screen = build(page);
  const { live = {} } = screen;
  live.link = page.linkWords;
  return { title: page.state.title || "Run", cut: page.linkCut, warn: page.warning, ...screen, live };
}

/** One page of many targets, with the way to the others beside Back. */
function paged(page, name, choices) {
  const size = A_PAGE[name];
  const from = page.from < choices.length ? page.from : 0;
  const turn = choices.length > size ? [choice("newer", "Previous", null, { off: from === 0 }), choice("older", "More", null, { off: from + size >= choices.length })] : [];
  return { choices: choices.slice(from, from + size), row: [BACK, ...turn] };
}

const undoWords = (page) => (page.undo ? { undo: `${page.undo.what} ·\u00a0${Math.ceil(page.undo.left)}\u00a0s` } : {});
const row = (page) => [
  page.undo ? { act: "undo", label: "Undo", live: "undo" } : { act: "undo", label: "Undo", off: true },
  choice("plates", "Plates"),
  choice("more", "More"),
];

const SCREENS = {
  trouble: (page) => ({ word: page.trouble, action: choice("again", LABELS.again) }),

  ready: (page) => ({
    word: page.state.closed ? SCREEN.runOver : SCREEN.checkTablet,
    lines: page.preflight,
    action: choice("start", page.state.closed ? LABELS.lookAtRun : "Begin"),
    row: [choice("sound", "Sound", null, { under: page.sound }), choice("dim", "Dim", null, { under: page.dimWords })],
  }),

  hand(page) {
    const { state } = page;
    if (page.proposal) return proposed(page);
    if (cautionsUnread(state).length) return ofTheDay(page);
    const due = checkDue(state, page.chosen);
    if (due) return check(page, due);
    const want = inHand(state, page.chosen);
    if (want) return inWork(page, want);
    return toBeGraded(state) ? asking(page, formOf(page)) : nothingLeft(page);
  },

  form: (page) => (page.form ? asking(page, page.form) : SCREENS.hand(page)),

  look: (page) => (page.look ? { ...lookScreen(page, choice, BACK), live: undoWords(page) } : SCREENS.hand(page)),

  plates(page) {
    const { state } = page;
    const choices = state.plates.map((plate) => {
      const want = state.hands.find((one) => one.plate === plate.id);
      const line = want ? plainLine(state, want) : null;
      const still = overWords(plate);
      return choice("take", plate.label, plate.id, { under: line ? [line.what, line.left, planWords(state, plate)].filter(Boolean).join(" · ") : still, chosen: inHand(state, page.chosen)?.plate === plate.id });
    });
    return { word: SCREEN.whichPlate, many: true, list: true, columns: 1, ...paged(page, "plates", choices) };
  },

  more: (page) => ({ word: "", many: true, columns: 2, ...paged(page, "more", moreChoices(page)) }),

  range(page) {
    const want = inHand(page.state, page.chosen);
    const step = want?.step && stepOf(plateOf(page.state, want.plate), want.step);
    if (!step) return { word: SCREEN.noRange, row: [BACK] };
    return { plate: want.label, word: ruleOf(page.state, want.step).title, note: lengthRange(step.planned_s, step.low_s, step.high_s), lines: [step.made_of || SCREEN.noRange], row: [BACK] };
  },

  redo(page) {
    const { state } = page;
    const plate = plateOf(state, page.aim.plate);
    const under = (step) => (step.state === "skipped" ? "skipped" : fill(SCREEN.doneIn, { length: length(step.elapsed_s) }));
    const choices = mayGoBack(state, plate).map((step) => choice("redoNow", ruleOf(state, step.key).title, { plate: plate.id, step: step.key, why: WHY.choice }, { under: under(step) }));
    if (!choices.length) return { word: SCREEN.noStepAgain, row: [BACK] };
    return { plate: fill(SCREEN.againFrom, plate), many: true, list: true, columns: 1, ...paged(page, "redo", choices) };
  },

  readings: (page) => ({
    word: SCREEN.whatMeasured,
    many: true,
    columns: 2,
    ...paged(page, "readings", quantitiesAt(inHand(page.state, page.chosen)?.step).map((one) => choice("quantity", one.title, one.what, { under: one.unit }))),
  }),

  pad(page) {
    const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", page.pad.minus ? "−" : "", "0", page.pad.point ? "." : ""];
    return {
      plate: page.pad.title,
      note: page.warning ? "" : page.pad.note,
      said: `${page.pad.text || "…"} ${page.pad.unit}`,
      columns: 3,
      choices: keys.map((key) => (key ? choice("key", key, key) : choice("key", "", "", { off: true }))),
      row: [BACK, choice("rub", "Delete"), choice("write", LABELS.writeIt, null, { chosen: true })],
    };
  },

  remark: (page) => ({
    plate: "Remark",
    field: { words: page.field, soft: page.paper },
    many: true,
    columns: 2,
    choices: page.form ? [] : REMARKS.map((words) => choice("say", words, words)),
    row: [BACK, choice("write", LABELS.writeIt, null, { chosen: true })],
  }),

  list(page) {
    const choices = page.happened.map(({ event, under }) => choice("event", `${wallClock(event.at)} ${told(event, page.state)}`, event.id, { under }));
    return { plate: SCREEN.newestFirst, many: true, list: true, columns: 1, ...paged(page, "list", choices) };
  },

  event(page) {
    const entry = page.happened.find((one) => one.event.id === page.picked);
    if (!entry) return { word: SCREEN.eventGone, row: [BACK] };
    const timed = ["step_begun", "step_ended"].includes(entry.event.kind) && !entry.withdrawn;
    return {
      plate: wallClock(entry.event.at),
      word: told(entry.event, page.state),
      lines: [entry.under].filter(Boolean),
      action: entry.fixed ? null : choice("withdraw", entry.withdrawn ? LABELS.countAgain : LABELS.takeBack, entry.event.id),
      row: timed ? [BACK, choice("earlier", LABELS.changeTime, entry.event.id)] : [BACK],
    };
  },

  turned: (page) => ({
    word: SCREEN.refused,
    many: true,
    list: true,
    columns: 1,
    choices: page.refused.map((record) => choice("none", told(record, page.state), null, { under: record.why })),
    row: [BACK, choice("offer", LABELS.offerAgain), choice("throw", LABELS.throwAway)],
  }),

  daylight: () => ({
    word: SCREEN.daylight,
    lines: [SCREEN.noCoatedPlate],
    action: choice("paper", LABELS.lightIt),
    row: [BACK],
  }),

  leave: () => ({
    word: SCREEN.daylight,
    lines: [SCREEN.noCoatedPlate],
    action: choice("leaveNow", LABELS.openRecord),
    row: [BACK],
  }),

  skip: (page) => ({
    plate: page.aim.label,
    word: fill(SCREEN.skipStep, page.aim),
    action: choice("skipNow", LABELS.skipIt),
    row: [BACK],
  }),

  close: (page) => ({
    ...whatWaits(page), // a run that is closed asks for none of it any more
    word: SCREEN.closeRun,
    lines: page.state.hands.length ? [fill(SCREEN.unfinished, { left: page.state.hands.length, all: page.state.plates.length })] : [SCREEN.allOver],
    action: choice("closeNow", LABELS.closeIt),
    row: [BACK],
  }),
};

/** All that can be done besides the one big action. */
export function moreChoices(page) {
  const { state } = page;
  const want = inHand(state, page.chosen);
  const going = state.state !== "closed";
  const plate = want && plateOf(state, want.plate);
  const choices = [choice("readings", "Reading"), choice("remarks", "Remark")];
  if (plate && want.step && stepOf(plate, want.step).made_of) choices.push(choice("range", LABELS.range, null, { under: plate.label }));
  if (going) choices.push(choice(state.state === "paused" ? "resumeRun" : "pauseRun", state.state === "paused" ? LABELS.resumeAll : LABELS.pauseAll));
  if (plate) {
    const { label } = plate;
    choices.push(choice(plate.paused ? "resumePlate" : "pausePlate", plate.paused ? LABELS.goOn : "Pause", plate.id, { under: label }));
    choices.push(choice("late", LABELS.changeTime, null, { under: want.action === "end" ? "ended" : "begun" }));
    if (want.action === "begin") choices.push(choice("skip", LABELS.skipStep, null, { under: label }));
    if (mayGoBack(state, plate).length) choices.push(choice("redo", LABELS.redoStep, plate.id, { under: label }));
    choices.push(choice("giveUp", LABELS.giveUp, plate.id, { under: label }));
  }
  choices.push(choice("list", LABELS.happened), choice("sound", "Sound", null, { under: page.sound }), choice("dim", "Dim", null, { under: page.dimWords }));
  choices.push(page.paper ? choice("red", LABELS.redLook) : choice("daylight", LABELS.daylightLook));
  if (page.refused.length) choices.push(choice("turned", "Refused", null, { under: String(page.refused.length) }));
  if (going) choices.push(choice("close", LABELS.closeRun));
  return choices;
}

/** The plates that want hands, and what each has left. */
function whatWaits(page) {
  const { waiting, live } = rest(page, null);
  return { waiting, live };
}

/** The plate is over iodine: the colour to look for has the room that the next step or a new plan would take. */
const coating = (page, want) => want?.action === "end" && ruleOf(page.state, want.step).law === "fuming";

function rest(page, want) {
  const others = page.state.hands.filter((one) => one.plate !== want?.plate);
  const live = {};
  const most = page.state.offer ? 1 : MOST_WAITING; // a new plan needs their room; the time keeps its own
  const waiting = others.slice(0, most).map((one, place) => {
    const line = waitingLine(page.state, one);
    live[`left${place}`] = line.left;
    return { label: line.label, what: line.what, calls: line.calls, live: `left${place}` };
  });
  const next = page.state.offer || coating(page, want) ? null : nextLine(page.state, want);
  if (next) waiting.push(next);
  if (others.length > most && !page.state.offer) waiting.push({ label: "", what: fill(SCREEN.andMore, { count: others.length - most }), calls: false });
  const plate = want?.step ? plateOf(page.state, want.plate) : null;
  const step = plate && stepOf(plate, want.step);
  const planned = step ? plannedHere(page.state, plate, step) : "";
  return { waiting, late: planned !== "" && step.float_s < 0, live: { ...live, ...(planned ? { plan: planned } : {}), ...undoWords(page) }, next: want?.step ? cautionsInSight(page.state, want) : "", row: row(page) };
}

/** The step in hand, and under it a new plan that waits for an answer; a caution stands alone. */
function inWork(page, want) {
  const screen = stepInHand(page, want);
  return page.state.offer && !screen.mark && !coating(page, want) ? withOffer(page, screen) : screen;
}

/** A screen with the new plan that waits, and the targets that answer it. */
function withOffer(page, screen) {
  const { offer } = page.state;
  const more = offer.more && choice("addPlate", LABELS.oneMorePlate, offer.more.id, { under: "O" });
  const alone = more && offer.lines.length === 1; // nothing else changes
  const take = choice("takePlan", LABELS.takePlan, offer.event, { under: "T" });
  const keep = choice("keepPlan", alone ? LABELS.leaveIt : LABELS.keepPlan, offer.event, { under: "K" });
  const answers = alone ? [more, keep] : [take, keep, more].filter(Boolean);
  const look = (screen.beside ?? []).map((one) => ({ ...one, label: LOOK.inARow })); // a row of its own has no room
  return { ...screen, beside: undefined, withAction: look, offer: { line: offerLine(page.state), answers } };
}

function stepInHand(page, want) {
  const { state } = page;
  const plate = plateOf(state, want.plate);
  const step = stepOf(plate, want.step);
  const rule = ruleOf(state, want.step);
  const around = rest(page, want);
  const due = want.action === "begin" ? cautionsDue(state, want.step) : [];
  if (want.want === "paused") {
    const all = state.state === "paused";
    return { ...around, plate: want.label, word: rule.title, note: all ? SCREEN.runPaused : SCREEN.platePaused, action: all ? choice("resumeRun", LABELS.goOn) : choice("resumePlate", LABELS.goOn, plate.id), live: { ...around.live, time: "paused" } };
  }
  const { told, back } = want.action === "begin" ? advised(page, plate, want.step) : {};
  const ahead = want.action === "begin" && tooEarly(state, plate, want) && fill(SCREEN.tooEarly, { start: wallClock(step.plan.start) });
  const busy = want.waits_for && fill(SCREEN.inUse, { resource: rule.resource, label: plateOf(state, want.waits_for).label });
  if (due.length) {
    // The caution stands alone with its step: nothing beside it may be missed.
    const [first, ...others] = due.map((one) => one.text);
    return { plate: fill(SCREEN.plateBefore, { label: want.label, title: rule.title }), word: first, long: true, mark: true, lines: loud([...others, busy, ahead, ...told]), waiting: around.waiting, live: around.live, row: around.row, ...answersOf(page, choice("seen", LABELS.seenBegin, { plate: plate.id, step: want.step, cautions: due.map((one) => one.key) }), back) };
  }
  const said = step.changes.at(-1)?.why ?? "";
  const why = said && said[0].toUpperCase() + said.slice(1);
  const planned = lengthRange(step.planned_s, step.low_s, step.high_s);
  const lines = [...loud([why, dewWords(trade.dew, state, plate.id, step.key, page.air)]), rule.look_for].filter(Boolean);
  if (want.action === "begin") {
    const keep = step.keep_left_s;
    const atOnce = rule.within_s === 0;
    const time = keep === null ? length(step.planned_s) : atOnce && keep > -1 ? "now" : counting(keep);
    const note = fill(keep === null ? SCREEN.planned : atOnce ? SCREEN.beginAtOnce : keep < 0 ? SCREEN.late : SCREEN.leftToBegin, { planned });
    const begin = choice("begin", "Begin", { plate: plate.id, step: step.key });
    return { ...around, plate: want.label, word: rule.title, note, live: { ...around.live, time }, lines: [...loud([...told, busy, ahead]), ...lines], ...answersOf(page, begin, back) };
  }
  const top = Math.max(step.planned_s * 1.25, step.high_s, 1);
  const share = (seconds) => `${Math.min(100, Math.max(0, (100 * seconds) / top)).toFixed(1)}%`;
  const early = !rule.attended && step.left_s > 0;
  const closing = answeredAtEnd(rule, step);
  const ended = closing && ANSWERS.map(([answer, words], place) => choice("endWith", fill(LABELS.doneWith, { answer: words }), { plate: plate.id, step: step.key, answer }, { chosen: place === page.mark }));
  const action = ended ? null : choice("end", early ? (page.armed ? LABELS.endPress : LABELS.endEarly) : "Done", { plate: plate.id, step: step.key });
  const over = step.left_s <= 0;
  const past = over && step.high_s > step.planned_s && step.elapsed_s > step.high_s ? loud([trade.past_range?.[step.key]]) : [];
  const look = rule.law === "development" && choice("lookAtRipening", LOOK.ripening, { plate: plate.id, step: step.key });
  return {
    ...around,
    ...(look ? { beside: [look] } : {}),
    plate: want.label,
    word: rule.title,
    lines: closing ? [...past, { text: closing.text, call: true }, ...lines] : [...past, ...lines],
    ...(ended ? { choices: ended, columns: 3 } : { action }),
    over,
    note: fill(over ? SCREEN.overPlanned : SCREEN.leftOf, { planned: countedFrom(step.planned_s, step.low_s, step.high_s) }),
    band: { low: share(step.low_s), high: share(step.high_s) },
    live: { ...around.live, time: counting(Math.min(step.left_s, Math.round(step.planned_s))), gone: share(step.elapsed_s) },
  };
}

/** Whether a plate that is not exposed yet may begin long before the plan says, while another is on its way: it may then wait too long for what that one holds. */
function tooEarly(state, plate, want) {
  const others = state.plates.some((one) => one !== plate && one.current !== null && one.state === "open" && one.steps.some((step) => step.begun !== null));
  return others && want.planned_in_s > EARLY_S && BEFORE_LIGHT.includes(ruleOf(state, want.step).stage);
}

/** What is told of a plate before a step: what the clock saw of the last one, odds and advice; and the way back where it is advised. */
function advised(page, plate, key) {
  const said = page.advice?.get(plate.id);
  const here = said?.step === key && said.line ? said : null;
  const open = here?.backTo && mayGoBack(page.state, plate).some((one) => one.key === here.backTo);
  const back = open ? choice("redoNow", LABELS.doAgain, { plate: plate.id, step: here.backTo, why: WHY.advised }) : null;
  return { told: [tooShort(page.state, plate), wrongBefore(page.state, plate), here?.line].filter(Boolean), back };
}

const loud = (texts) => texts.filter(Boolean).map((text) => ({ text, call: true }));

/** The big action, or it and the way back as two answers. */
function answersOf(page, action, back) {
  if (!back) return { action };
  return { choices: [action, back].map((one, place) => ({ ...one, chosen: place === page.mark })), columns: 2 };
}

function check(page, { plate, step }) {
  const rule = ruleOf(page.state, step.key);
  const { when, text, at_minutes: minutes } = step.ask;
  const around = rest(page, { plate: plate.id, step: when === "before" ? step.key : null });
  const title = fill({ before: SCREEN.before, during: SCREEN.during }[when] ?? "{title}", { title: rule.title, minutes });
  const due = when === "before" ? cautionsDue(page.state, step.key) : [];
  const { told, back } = when === "before" ? advised(page, plate, step.key) : { told: [] };
  const asks = due.length ? { word: due[0].text, long: true, mark: true, lines: loud([...due.slice(1).map((one) => one.text), text, ...told]), columns: 3 } : { word: text, long: text.length > 40, lines: loud(told), columns: told.length ? 3 : 1 };
  const label = (answer, words) => (when === "before" && answer !== "wrong" ? fill(LABELS.answerBegin, { answer: words }) : words);
  return {
    plate: `${plate.label}: ${title}`,
    ...asks,
    waiting: around.waiting,
    live: around.live,
    choices: [...ANSWERS.map(([answer, words]) => choice("answer", label(answer, words), { plate: plate.id, step: step.key, answer })), ...(rule.law === "fuming" && when === "after" ? [choice("lookAtCoat", LOOK.look, { plate: plate.id, step: step.key })] : []), ...(rule.law === "development" && when === "during" ? [choice("lookAtRipening", LOOK.ripening, { plate: plate.id, step: step.key })] : []), ...(back ? [back] : [])].map((one, place) => ({ ...one, chosen: place === page.mark })),
    row: around.row,
  };
}

/** The cautions of the day, as many at once as can be read. */
function ofTheDay(page) {
  const { state } = page;
  const unread = cautionsUnread(state);
  const some = unread.slice(0, page.cautionsAtOnce);
  const all = new Set(state.steps.flatMap((step) => step.cautions.map((one) => one.key))).size;
  const from = all - unread.length + 1;
  return {
    plate: fill(some.length === 1 ? SCREEN.cautionOfDay : SCREEN.cautionsOfDay, { from, to: from + some.length - 1, all }),
    mark: true,
    fine: true,
    lines: some.map((one) => one.text),
    action: choice("readAll", LABELS.readAll, some.map((one) => one.key)),
    live: undoWords(page),
  };
}

function proposed(page) {
  const { state } = page;
  const plate = plateOf(state, page.proposal.plate);
  const back = mayGoBack(state, plate);
  const from = trade.again_from?.[page.proposal.step] ?? page.proposal.step; // a coat is put on bare silver
  const again = back.find((one) => one.key === from) ?? back[0];
  const choices = [choice("keepOn", LABELS.goOnWithIt)];
  if (again) choices.push(choice("redoNow", LABELS.doItAgain, { plate: plate.id, step: again.key, why: WHY.wrong }, { under: ruleOf(state, again.key).title }));
  if (back.length > 1) choices.push(choice("redo", LABELS.goFurtherBack, plate.id));
  choices.push(choice("giveUp", LABELS.giveItUp, plate.id));
  return {
    plate: plate.label,
    word: SCREEN.checkWrong,
    columns: 1,
    choices: choices.map((one, place) => ({ ...one, chosen: place === page.mark })),
    row: row(page),
    live: undoWords(page),
  };
}

/** The form at hand: the one begun, else of the plate that is to be graded. */
export function formOf(page) {
  const due = toBeGraded(page.state);
  return page.form ?? newForm(page.state, due.id);
}

/** One question about a plate; the first of its answers for the one key is always the one that says nothing. */
function asking(page, form) {
  const all = formChoices(form).map(([key, words], place) => choice("formAnswer", words, key, { chosen: place + 1 === page.mark }));
  const size = A_PAGE.form;
  const pages = Math.ceil(all.length / size);
  const from = page.from < all.length ? page.from : 0;
  const turn = pages > 1 ? [choice("turn", "More", null, { under: fill(SCREEN.pageOf, { page: from / size + 1, pages }) })] : [];
  const back = form.givesUp || page.before.length ? [choice("formBack", "Back", null, { chosen: form.givesUp && page.mark === 0 })] : [page.undo ? { act: "undo", label: "Undo", live: "undo" } : choice("more", "More")];
  const later = form.givesUp ? [] : [choice("formAnswer", "Later", "later", { chosen: page.mark === 0 })];
  return { plate: question(form), form: true, many: true, columns: all.length > 5 ? 2 : 1, choices: all.slice(from, from + size), row: [...back, ...turn, ...later], live: undoWords(page) };
}

/** What came of a plate; in a run that is closed one may be unfinished. */
export function overWords(plate) {
  if (plate.state === "withdrawn") return "withdrawn";
  if (plate.state === "abandoned") return plate.why ? fill(SCREEN.givenUp, plate) : SCREEN.givenUpOnly;
  if (plate.grading) return [plate.grading.grade ?? "graded", ...plate.grading.defects.map(([key]) => lookOf(key))].join(", ");
  if (plate.state === "open") return plate.begun ? SCREEN.notFinished : SCREEN.notBegun;
  return plate.grade_due ? SCREEN.notGraded : "finished";
}

function nothingLeft(page) {
  const { state } = page;
  const lines = state.plates.map((plate) => `${plate.label}: ${overWords(plate)}`);
  const live = undoWords(page);
  if (state.state === "closed") return { word: SCREEN.runOver, lines, live, action: choice("leave", LABELS.readRecord), row: row(page) };
  if (!state.plates.length) return { word: SCREEN.noPlate, lines: [SCREEN.openRun], live, row: row(page) };
  const lost = state.plates.some((plate) => plate.state === "abandoned");
  const finished = { word: lost ? SCREEN.allOver : SCREEN.allFinished, lines, action: choice("closeNow", LABELS.closeRun), live, row: row(page) };
  return state.offer?.more ? withOffer(page, finished) : finished; // one more, in place of what was lost
}
