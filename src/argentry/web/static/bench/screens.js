// Each screen as a plain description: what is said and which targets there are. Pure; draw.js
// puts it on the glass. Strings under `live` may change every second without a new screen.

import { cautionsDue, checkDue, inHand, mayGoBack, nextCaution, plateOf, ruleOf, stepOf, waitingLine } from "./glance.js";
import { GIVEN_UP, QUANTITIES, REMARKS, counting, length, lengthRange, told, wallClock } from "./words.js";

const MOST_WAITING = 4;
const A_PAGE = { list: 5, plates: 5, redo: 5, more: 10 }; // targets that a phone holds without scrolling
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
  const turn = choices.length > size ? [choice("newer", "Before", null, { off: from === 0 }), choice("older", "Further", null, { off: from + size >= choices.length })] : [];
  return { choices: choices.slice(from, from + size), row: [BACK, ...turn] };
}

const undoWords = (page) => (page.undo ? { undo: `${page.undo.what} ·\u00a0${Math.ceil(page.undo.left)}\u00a0s` } : {});
const row = (page) => [
  page.undo ? { act: "undo", label: "Undo", live: "undo" } : { act: "undo", label: "Undo", off: true },
  choice("plates", "Plates"),
  choice("more", "More"),
];

const SCREENS = {
  trouble: (page) => ({ word: page.trouble, action: choice("again", "Try again") }),

  ready: (page) => ({
    word: page.state.closed ? "This run is over." : "Look over the tablet.",
    lines: page.preflight,
    action: choice("start", page.state.closed ? "Look at it" : "Begin"),
    row: [choice("sound", "Sound", null, { under: page.sound }), choice("dim", "Dim", null, { under: page.dimWords })],
  }),

  hand(page) {
    const { state } = page;
    if (page.proposal) return proposed(page);
    const due = state.state === "closed" ? null : checkDue(state);
    if (due) return check(page, due);
    const want = inHand(state, page.chosen);
    return want ? inWork(page, want) : nothingLeft(page);
  },

  plates(page) {
    const { state } = page;
    const choices = state.plates.map((plate) => {
      const want = state.hands.find((one) => one.plate === plate.id);
      const line = want ? waitingLine(state, want) : null;
      const still = { abandoned: `given up: ${plate.why}`, done: "through" }[plate.state] ?? "run over";
      return choice("take", plate.label, plate.id, { under: line ? [line.what, line.left].filter(Boolean).join(" · ") : still, chosen: inHand(state, page.chosen)?.plate === plate.id });
    });
    return { word: "Which plate?", many: true, list: true, columns: 1, ...paged(page, "plates", choices) };
  },

  more(page) {
    const { state } = page;
    const want = inHand(state, page.chosen);
    const going = state.state !== "closed";
    const plate = want && plateOf(state, want.plate);
    const choices = [choice("readings", "Reading"), choice("remarks", "Remark")];
    if (going) choices.push(choice(state.state === "paused" ? "resumeRun" : "pauseRun", state.state === "paused" ? "Go on, all" : "Pause all"));
    if (plate) {
      const { label } = plate;
      choices.push(choice(plate.paused ? "resumePlate" : "pausePlate", plate.paused ? "Go on" : "Pause", plate.id, { under: label }));
      choices.push(choice("late", "It was earlier", null, { under: want.action === "end" ? "ended" : "begun" }));
      if (want.action === "begin") choices.push(choice("skip", "Leave step out", null, { under: label }));
      if (mayGoBack(state, plate).length) choices.push(choice("redo", "Do a stage once more", plate.id, { under: label }));
      choices.push(choice("giveUp", "Give up", plate.id, { under: label }));
    }
    choices.push(choice("list", "What happened"), choice("sound", "Sound", null, { under: page.sound }), choice("dim", "Dim", null, { under: page.dimWords }));
    choices.push(page.paper ? choice("red", "Red look") : choice("daylight", "Daylight look"));
    if (page.refused.length) choices.push(choice("turned", "Turned down", null, { under: String(page.refused.length) }));
    if (going) choices.push(choice("close", "Close the run"));
    return { word: "", many: true, columns: 2, ...paged(page, "more", choices) };
  },

  redo(page) {
    const { state } = page;
    const plate = plateOf(state, page.aim.plate);
    const under = (step) => (step.state === "skipped" ? "left out" : `done in ${length(step.elapsed_s)}`);
    const choices = mayGoBack(state, plate).map((step) => choice("redoNow", ruleOf(state, step.key).title, { plate: plate.id, step: step.key, why: "by choice" }, { under: under(step) }));
    if (!choices.length) return { word: "No step of this plate can be done once more now.", row: [BACK] };
    return { plate: `${plate.label}: once more from`, many: true, list: true, columns: 1, ...paged(page, "redo", choices) };
  },

  readings: () => ({
    word: "What was measured?",
    many: true,
    columns: 2,
    choices: QUANTITIES.map((one) => choice("quantity", one.title, one.what, { under: one.unit })),
    row: [BACK],
  }),

  pad(page) {
    const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", page.pad.minus ? "−" : "", "0", page.pad.point ? "." : ""];
    return {
      plate: page.pad.title,
      note: page.warning ? "" : page.pad.note,
      said: `${page.pad.text || "…"} ${page.pad.unit}`,
      columns: 3,
      choices: keys.map((key) => (key ? choice("key", key, key) : choice("key", "", "", { off: true }))),
      row: [BACK, choice("rub", "Rub out"), choice("write", "Write it", null, { chosen: true })],
    };
  },

  remark: (page) => ({
    plate: "Remark",
    field: { words: page.field, soft: page.paper },
    many: true,
    columns: 2,
    choices: REMARKS.map((words) => choice("say", words, words)),
    row: [BACK, choice("write", "Write it", null, { chosen: true })],
  }),

  list(page) {
    const choices = page.happened.map(({ event, under }) => choice("event", `${wallClock(event.at)} ${told(event, page.state)}`, event.id, { under }));
    return { plate: "What happened, newest first", many: true, list: true, columns: 1, ...paged(page, "list", choices) };
  },

  event(page) {
    const entry = page.happened.find((one) => one.event.id === page.picked);
    if (!entry) return { word: "It is not there any more.", row: [BACK] };
    const timed = ["step_begun", "step_ended"].includes(entry.event.kind) && !entry.withdrawn;
    return {
      plate: wallClock(entry.event.at),
      word: told(entry.event, page.state),
      lines: [entry.under].filter(Boolean),
      action: entry.fixed ? null : choice("withdraw", entry.withdrawn ? "Count it again" : "Take it back", entry.event.id),
      row: timed ? [BACK, choice("earlier", "It was earlier", entry.event.id)] : [BACK],
    };
  },

  turned: (page) => ({
    word: "The server would not take:",
    many: true,
    list: true,
    columns: 1,
    choices: page.refused.map((record) => choice("none", told(record, page.state), null, { under: record.why })),
    row: [BACK, choice("offer", "Offer again"), choice("throw", "Throw away")],
  }),

  daylight: () => ({
    word: "This lights the screen white.",
    lines: ["Only where no coated plate lies open."],
    action: choice("paper", "Light it"),
    row: [BACK],
  }),

  skip: (page) => ({
    plate: page.aim.label,
    word: `Leave out “${page.aim.title}”?`,
    action: choice("skipNow", "Leave it out"),
    row: [BACK],
  }),

  giveUp: (page) => ({
    plate: page.aim.label,
    word: "Give this plate up. Why?",
    many: true,
    columns: 2,
    choices: GIVEN_UP.map((why) => choice("giveUpNow", why, why)),
    row: [BACK],
  }),

  close: (page) => ({
    word: "Close the run?",
    lines: page.state.hands.length ? [`${page.state.hands.length} of ${page.state.plates.length} plates are not through yet.`] : ["Every plate is through or given up."],
    action: choice("closeNow", "Close it"),
    row: [BACK],
  }),
};

function rest(page, want) {
  const others = page.state.hands.filter((one) => one.plate !== want?.plate);
  const live = {};
  const waiting = others.slice(0, MOST_WAITING).map((one, place) => {
    const line = waitingLine(page.state, one);
    live[`left${place}`] = line.left;
    return { label: line.label, what: line.what, calls: line.calls, live: `left${place}` };
  });
  if (others.length > MOST_WAITING) waiting.push({ label: "", what: `and ${others.length - MOST_WAITING} more`, calls: false });
  return { waiting, live: { ...live, ...undoWords(page) }, next: want?.step ? nextCaution(page.state, want) : "", row: row(page) };
}

function inWork(page, want) {
  const { state } = page;
  const plate = plateOf(state, want.plate);
  const step = stepOf(plate, want.step);
  const rule = ruleOf(state, want.step);
  const around = rest(page, want);
  const [due] = want.action === "begin" ? cautionsDue(state, want.step) : [];
  if (want.want === "paused") {
    const all = state.state === "paused";
    return { ...around, plate: want.label, word: rule.title, note: all ? "The whole run is paused." : "This plate is paused.", action: all ? choice("resumeRun", "Go on") : choice("resumePlate", "Go on", plate.id), live: { ...around.live, time: "paused" } };
  }
  if (due) {
    // The caution stands alone with its step: nothing beside it may be missed.
    return { plate: `${want.label}: before “${rule.title}”`, word: due.text, long: true, mark: true, waiting: around.waiting, live: around.live, row: around.row, action: choice("seen", "I have seen this", { step: want.step, caution: due.key }) };
  }
  const said = step.changes.at(-1)?.why ?? "";
  const why = said && said[0].toUpperCase() + said.slice(1);
  const planned = lengthRange(step.planned_s, step.low_s, step.high_s);
  const lines = [why && { text: why, call: true }, rule.look_for].filter(Boolean);
  if (want.action === "begin") {
    const keep = step.keep_left_s;
    const said = page.advice?.get(plate.id);
    const odds = said?.step === want.step && said.line; // at a checkpoint: odds and advice in one line
    const busy = want.waits_for && `The ${rule.resource} is in use: ${plateOf(state, want.waits_for).label}.`;
    const atOnce = rule.within_s === 0;
    const time = keep === null ? length(step.planned_s) : atOnce && keep > -1 ? "now" : counting(keep);
    const note = keep === null ? `planned ${planned}` : atOnce ? `begin at once. Planned ${planned}` : keep < 0 ? `late; begin at once. Planned ${planned}` : `left to begin. Planned ${planned}`;
    const begin = choice("begin", "Begin", { plate: plate.id, step: step.key });
    const back = odds && said.backTo && mayGoBack(state, plate).some((one) => one.key === said.backTo) && choice("redoNow", "Once more", { plate: plate.id, step: said.backTo, why: "as advised" });
    const answers = back ? { choices: [begin, back].map((one, place) => ({ ...one, chosen: place === page.mark })), columns: 2 } : { action: begin };
    return { ...around, plate: want.label, word: rule.title, note, live: { ...around.live, time }, lines: [odds && { text: odds, call: true }, busy && { text: busy, call: true }, ...lines].filter(Boolean), ...answers };
  }
  const top = Math.max(step.planned_s * 1.25, step.high_s, 1);
  const share = (seconds) => `${Math.min(100, Math.max(0, (100 * seconds) / top)).toFixed(1)}%`;
  const early = !rule.attended && step.left_s > 0;
  const action = choice("end", early ? (page.armed ? "Press again to end" : "End it early") : "Done", { plate: plate.id, step: step.key });
  const over = step.left_s <= 0;
  return {
    ...around,
    plate: want.label,
    word: rule.title,
    lines,
    action,
    over,
    note: over ? `over the planned ${planned}` : `left of ${planned}`,
    band: { low: share(step.low_s), high: share(step.high_s) },
    live: { ...around.live, time: counting(step.left_s), gone: share(step.elapsed_s) },
  };
}

function check(page, { plate, step }) {
  const rule = ruleOf(page.state, step.key);
  const around = rest(page, { plate: plate.id });
  const answers = ["right", "doubtful", "wrong"];
  return {
    plate: `${plate.label}: ${rule.title}`,
    word: rule.check,
    long: rule.check.length > 40,
    waiting: around.waiting,
    live: around.live,
    choices: answers.map((answer, place) => choice("answer", answer[0].toUpperCase() + answer.slice(1), { plate: plate.id, step: step.key, answer }, { chosen: place === page.mark })),
    columns: 1,
    row: around.row,
  };
}

function proposed(page) {
  const plate = plateOf(page.state, page.proposal);
  return {
    plate: plate.label,
    word: "The check was wrong. Give this plate up?",
    columns: 1,
    choices: [choice("keepOn", "Go on with it", null, { chosen: page.mark === 0 }), choice("giveUp", "Give it up", plate.id, { chosen: page.mark === 1 })],
    row: row(page),
    live: undoWords(page),
  };
}

function nothingLeft(page) {
  const { state } = page;
  const lines = state.plates.map((plate) => `${plate.label}: ${plate.state === "done" ? "through" : plate.state === "abandoned" ? `given up, ${plate.why}` : "stopped"}`);
  const live = undoWords(page);
  if (state.state === "closed") return { word: "This run is over.", lines, live, row: row(page) };
  if (!state.plates.length) return { word: "No plate is in this run.", lines: ["Open a run with plates on the first page."], live, row: row(page) };
  return { word: "Every plate is through.", lines, action: choice("close", "Close the run"), live, row: row(page) };
}
