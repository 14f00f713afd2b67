// The bench page. It holds the whole run: step list, clock, queue and voice live here, so it goes
// on when the server or the network is gone, and tells the server afterwards.

import { makeActs } from "./acts.js";
import { makeClock } from "./clock.js";
import { draw, handIsOver, hold } from "./draw.js";
import { fold } from "./fold.js";
import { trade } from "./questions.js";
import { asked, calls, cautionsDue, cautionsUnread, checkDue, inHand, stillWrong } from "./glance.js";
import { advice, happened, undoable } from "./happened.js";
import { newId } from "./ids.js";
import { listen } from "./keys.js";
import { follow } from "./link.js";
import { DIMS, applyLook, looksRight, remembered } from "./look.js";
import { readMoment, writeMoment } from "./moments.js";
import { makeQueue, openShelf } from "./queue.js";
import { BENCH, fill } from "./say.js";
import { describe } from "./screens.js";
import { makeVoice } from "./speech.js";
import { makeWake } from "./wake.js";
import { firstClause } from "./words.js";

const TICK_MS = 250;
const KEEP_MS = 1000;
const STUCK_S = 1.5; // a press not acknowledged for longer than this is told

const main = document.getElementById("bench");
const run = document.body.dataset.run;
const clock = makeClock();
const events = new Map(); // what the server holds of this run
const page = {
  screen: "loading",
  air: [], // readings of the room's air from outside the run
  state: fold([]),
  chosen: null,
  proposal: null,
  mark: 0, // the answer that the one key takes
  about: "", // what is asked: another question begins at its first answer
  armed: false,
  armedFor: null, // the step that a second press would end early
  pad: null,
  field: "",
  from: 0,
  picked: null,
  aim: null,
  warning: "",
  clockOff: false, // the house's clock is minutes off
  trouble: "",
  linkCut: false,
  linkWords: "",
  paper: false,
  dim: remembered("bench-dim", DIMS.length),
  sound: "silent",
  mine: [], // what this page did and may still take back
  press: 0, // what one press does is undone by one
  form: null, // questions about a plate
  before: [], // the same, an answer less each
  formScreen: "hand", // where they are asked
  look: null, // a picture of the coat: on its way, or what it says
  cautionsAtOnce: 5, // as many as this screen shows in type that can be read
};
let shelf = null;
let queue = null;
let wire = null;
let dated = 0; // microseconds: the newest of this page's events that has the server's time
let announced = null; // calls already made
let warningUntil = 0;
let shownCaution = "";
const voice = makeVoice({ onChange: tick });
const wake = makeWake({ onChange: tick });

// ---- What happened ------------------------------------------------------------------------

/** What waits for the server. One press may be several events, dated one by one: none goes before those dated already. */
function pending() {
  const { waiting } = queue;
  const at = (record) => Math.max(Math.round(clock.ofMoment(record.made) * 1000), record.late ? 0 : dated);
  return [...waiting.values()].filter((record) => !events.has(record.id)).map((record) => asEvent(record, writeMoment(at(record)), 0));
}

function asEvent({ id, kind, plate, step, body }, at, seq) {
  return { id, run, kind, at, plate: plate ?? null, step: step ?? null, body: body ?? {}, device: "this page", version: 1, seq };
}

function all() {
  return [...events.values(), ...pending()];
}

function merge(event) {
  const known = events.get(event.id);
  if (!known || known.seq === 0 || known.device === "this page") events.set(event.id, event);
  clock.passed(readMoment(event.at) / 1000);
  if (queue.waiting.has(event.id)) {
    dated = Math.max(dated, readMoment(event.at));
    queue.forget([event.id]);
  }
  keepSoon();
}

function add(kind, { plate = null, step = null, body = {} } = {}, lateS = 0) {
  const id = newId(clock.now());
  queue.add({ id, kind, plate, step, body }, lateS);
  page.mine.push({ id, kind, when: clock.steady(), press: page.press });
  page.warning = "";
  tick();
  return id;
}

let keeping = null;
function keepSoon() {
  keeping ??= setTimeout(async () => {
    keeping = null;
    await shelf.put("runs", { run, events: [...events.values()], clock: clock.keep() }).catch(() => {});
  }, KEEP_MS);
}

// ---- Saying and showing -----------------------------------------------------------------------

function linkWords() {
  const waiting = [...queue.waiting.values()];
  const stuck = waiting.some((record) => clock.age(record.made) > STUCK_S);
  const kept = waiting.length && (page.linkCut || stuck) ? fill(BENCH.keptHere, { count: waiting.length }) : "";
  const state = { shut: BENCH.notPaired, open: stuck ? "sending" : "linked" }[page.wireState] ?? BENCH.noLink;
  return state + kept;
}

function preflight() {
  const secure = globalThis.isSecureContext;
  return [
    wake.words(),
    secure ? BENCH.reloads : BENCH.keepOpen,
    shelf.lasting ? BENCH.kept : BENCH.notKept,
    fill(BENCH.sound, { sound: (page.sound !== "silent" && voice.trouble()) || page.sound }),
    BENCH.oneKey,
  ];
}

function announce() {
  const now = calls(page.state);
  if (announced && page.screen !== "ready") {
    for (const [key, { words, kind }] of now) if (!announced.has(key)) voice.call(words, kind);
  }
  announced = new Set(now.keys());
  const want = page.screen === "hand" ? inHand(page.state, page.chosen) : null;
  const [due] = want && want.action === "begin" && want.want !== "paused" && !checkDue(page.state, page.chosen) ? cautionsDue(page.state, want.step) : [];
  if (due && due.key !== shownCaution) voice.call(firstClause(due.text), "caution");
  shownCaution = due?.key ?? "";
}

function tick() {
  if (page.screen === "loading" || !queue) return;
  page.state = fold(all(), Math.round(clock.now() * 1000));
  page.undo = undoable(all(), page.mine, clock.steady());
  page.advice = advice(all(), page.state);
  const most = innerHeight < 500 ? 3 : innerWidth < 700 ? 5 : 8;
  const unread = `${cautionsUnread(page.state).length} ${innerWidth} ${innerHeight}`;
  page.cautionsAtOnce = page.fitting?.about === unread ? page.fitting.count : most;
  if (page.proposal && !stillWrong(page.state, page.proposal)) page.proposal = null;
  const about = page.form ? page.about : page.proposal ? `wrong ${page.proposal.plate} ${page.proposal.step}` : asked(page.state, page.chosen);
  if (about !== page.about) [page.about, page.mark] = [about, 0];
  page.armed = page.armedFor !== null && page.armedFor.until > clock.steady();
  if (page.warning && clock.steady() > warningUntil) page.warning = "";
  page.linkWords = linkWords();
  page.refused = [...queue.refused.values()];
  if (page.refused.length && !page.warning && page.screen === "hand") page.warning = fill(BENCH.refused, { count: page.refused.length });
  if (page.clockOff && !page.warning && ["hand", "ready"].includes(page.screen)) page.warning = BENCH.clockOff;
  page.preflight = preflight();
  page.dimWords = DIMS[page.dim];
  if (voice.mode() !== page.sound) page.sound = voice.mode();
  if (["list", "event"].includes(page.screen)) page.happened = happened(all(), page.state);
  announce();
  draw(main, describe(page), page.screen);
  // of the cautions of the day as many as stand whole
  while (page.cautionsAtOnce > 1 && main.querySelector("[data-act=readAll]") && handIsOver(main)) {
    page.cautionsAtOnce -= 1;
    page.fitting = { about: unread, count: page.cautionsAtOnce };
    draw(main, describe(page), page.screen);
  }
}

function go(screen) {
  page.screen = screen;
  page.mark = 0;
  page.from = 0;
  page.armedFor = null;
  tick();
}

function warn(sentence) {
  page.warning = sentence;
  warningUntil = clock.steady() + 8000;
  tick();
}

// ---- What a touch or a key does --------------------------------------------------------------

const ACTS = makeActs({ page, main, clock, voice, wake, add, go, tick, warn, all, queue: () => queue });

function act(name, arg = null) {
  hold(0); // a key may come while a finger rests on the glass
  page.press += 1;
  if (page.screen === "loading") return;
  if (page.screen === "trouble" && !["go", "again"].includes(name)) return;
  ACTS[name]?.(arg);
}

// ---- Coming up --------------------------------------------------------------------------------

function fail(sentence) {
  page.trouble = sentence;
  page.linkWords = "";
  page.screen = "trouble";
  draw(main, { ...describe(page), title: "Bench" }, "trouble");
}

function onWire(state, sentence) {
  page.wireState = state;
  page.linkCut = state !== "open";
  if (state === "open") {
    queue.send();
    ACTS.lookWaiting();
  } else if (page.screen === "loading") come(state, sentence);
  if (state === "shut" && page.screen !== "loading" && page.screen !== "trouble") warn(BENCH.pairAgain);
  tick();
}

async function come(state, sentence) {
  if (state === "none") return fail(sentence || BENCH.noRun);
  const kept = await shelf.get("runs", run).catch(() => null);
  if (!kept) return fail(state === "shut" ? BENCH.pairFirst : BENCH.noServer);
  if (page.screen !== "loading") return undefined;
  for (const event of kept.events) if (!events.has(event.id)) events.set(event.id, event);
  clock.goOnFrom(kept.clock);
  return go("ready");
}

async function registerWorker() {
  if (!globalThis.isSecureContext || !navigator.serviceWorker) return;
  try {
    const { assets } = document.body.dataset;
    await navigator.serviceWorker.register(`/sw.js?v=${encodeURIComponent(assets)}`);
    await navigator.serviceWorker.ready;
    // The worker came after this page: put the page itself on its shelf.
    await (await caches.open(`bench-${assets}`)).add(location.pathname);
  } catch {
    // Without it only a reload needs the server.
  }
}

async function up() {
  if (!looksRight()) {
    main.textContent = BENCH.noLook;
    return;
  }
  applyLook(page);
  shelf = await openShelf();
  queue = makeQueue({
    run,
    shelf,
    clock,
    onStored(record, { seq, at }) {
      clock.passed(readMoment(at) / 1000);
      dated = Math.max(dated, readMoment(at));
      if (!events.get(record.id)?.seq) events.set(record.id, asEvent(record, at, seq));
      keepSoon();
      tick();
    },
    onRefused(record) {
      page.mine = page.mine.filter(({ id }) => id !== record.id); // it never happened: nothing to undo
      warn(fill(BENCH.refusedWhy, record));
      // Two hands pressed the same: it is in the book already, nothing is lost.
      if (/ already/.test(record.why)) queue.forget([record.id]);
    },
    onLink(state) {
      if (state === "shut") wire.start();
      else if (state === "cut") wire.again();
    },
  });
  await queue.load();
  wire = follow({
    run,
    clock,
    onAnswer(answer) {
      answer.events.forEach(merge);
      if (page.screen === "loading" || page.screen === "trouble") go("ready");
      queue.send();
      tick();
    },
    onEvent(event) {
      merge(event);
      tick();
    },
    onState: onWire,
    wantsAir: () => trade.dew.steps.includes(inHand(page.state, page.chosen)?.step),
    onAir(readings) {
      page.air = readings;
      tick();
    },
    onClock(words) {
      page.clockOff = words !== "";
    },
  });
  listen(main, {
    act,
    hold,
    onScreen() {
      const screen = describe(page);
      return { name: page.screen, many: Boolean(screen.many), pad: page.screen === "pad", form: Boolean(screen.form), answers: Boolean(screen.choices) };
    },
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden") clock.hidden();
    else clock.shown();
    tick();
  });
  setInterval(tick, TICK_MS);
  setInterval(keepSoon, 30000);
  registerWorker();
  await wire.start();
}

up().catch(() => fail(BENCH.noStart));
