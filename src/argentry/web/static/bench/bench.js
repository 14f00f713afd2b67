// The bench page. It holds the whole run: step list, clock, queue and voice live here, so it goes
// on when the server or the network is gone, and tells the server afterwards.

import { makeClock } from "./clock.js";
import { draw } from "./draw.js";
import { fold } from "./fold.js";
import { calls, cautionsDue, checkDue, inHand, plateOf, ruleOf, stepOf } from "./glance.js";
import { newId } from "./ids.js";
import { listen } from "./keys.js";
import { follow } from "./link.js";
import { readMoment, writeMoment } from "./moments.js";
import { makeQueue, openShelf } from "./queue.js";
import { describe, pageSize } from "./screens.js";
import { makeVoice } from "./speech.js";
import { makeWake } from "./wake.js";
import { QUANTITIES, firstClause, shortName } from "./words.js";

const TICK_MS = 250;
const UNDO_S = 10;
const ARMED_MS = 5000;
const KEEP_MS = 1000;
const STUCK_S = 1.5; // a press not acknowledged for longer than this is told
const SOUNDS = ["silent", "voice", "tones"];
const DIMS = ["full", "half", "low", "least"];

const main = document.getElementById("bench");
const run = document.body.dataset.run;
const clock = makeClock();
const events = new Map(); // what the server holds of this run
const page = {
  screen: "loading",
  state: fold([]),
  chosen: null,
  proposal: null,
  mark: 0,
  armed: false,
  pad: null,
  field: "",
  from: 0,
  picked: null,
  aim: null,
  warning: "",
  trouble: "",
  linkCut: false,
  linkWords: "",
  paper: false,
  dim: remembered("bench-dim", DIMS.length),
  sound: "silent",
  mine: [], // what this page did and may still take back
};
let shelf = null;
let queue = null;
let wire = null;
let announced = null; // calls already made
let armedFor = null;
let warningUntil = 0;
let shownCaution = "";
const voice = makeVoice({ onChange: tick });
const wake = makeWake({ onChange: tick });

function remembered(name, many) {
  const value = Number(localStorage.getItem(name) ?? 0);
  return Number.isInteger(value) && value >= 0 && value < many ? value : 0;
}

// ---- What happened ------------------------------------------------------------------------

function pending() {
  const { waiting } = queue;
  return [...waiting.values()].filter((record) => !events.has(record.id)).map((record) => asEvent(record, writeMoment(Math.round(clock.ofMoment(record.made) * 1000)), 0));
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
  if (queue.waiting.has(event.id)) queue.forget([event.id]);
  keepSoon();
}

function add(kind, { plate = null, step = null, body = {} } = {}, lateS = 0) {
  const id = newId(clock.now());
  queue.add({ id, kind, plate, step, body }, lateS);
  page.mine.push({ id, kind, when: clock.steady() });
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

// ---- Taking back ----------------------------------------------------------------------------

const takenBack = () => new Set(all().filter((event) => event.kind === "corrected" && event.body.withdrawn === true).map((event) => event.body.event));

function undoable() {
  const gone = takenBack();
  const fresh = page.mine.filter((one) => one.kind !== "corrected" && !gone.has(one.id) && clock.steady() - one.when < UNDO_S * 1000);
  const last = fresh.at(-1);
  return last ? { ...last, what: shortName(last.kind), left: UNDO_S - (clock.steady() - last.when) / 1000 } : null;
}

function happened() {
  const known = all();
  const odd = new Map(page.state.odd.map((one) => [one.event, one.why]));
  const gone = takenBack();
  return known
    .sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : a.id < b.id ? 1 : -1))
    .map((event) => {
      const withdrawn = gone.has(event.id);
      const under = [withdrawn ? "taken back" : "", odd.has(event.id) ? `does not fit: ${odd.get(event.id)}` : "", event.seq ? "" : "kept here, not in the book yet"].filter(Boolean).join(" · ");
      return { event, withdrawn, under, fixed: event.kind === "run_opened" || event.kind === "duration_changed" };
    });
}

// ---- Saying and showing -----------------------------------------------------------------------

function linkWords() {
  const waiting = [...queue.waiting.values()];
  const stuck = waiting.some((record) => clock.age(record.made) > STUCK_S);
  const kept = waiting.length && (page.linkCut || stuck) ? ` · ${waiting.length} kept here` : "";
  const state = { shut: "not paired", open: stuck ? "sending" : "linked" }[page.wireState] ?? "no link";
  return state + kept;
}

function preflight() {
  const secure = globalThis.isSecureContext;
  return [
    wake.words(),
    secure ? "Reload: works while the server is down." : "Reload: only with the server. Keep this page open.",
    shelf.lasting ? "Presses are kept on this tablet until they are in the book." : "This browser keeps nothing: do not close the page while the link is cut.",
    page.sound === "silent" ? "Sound: silent." : voice.trouble() ? `Sound: ${voice.trouble()}.` : `Sound: ${page.sound}.`,
    "One key or pedal goes on: space, enter, page down. Backspace takes back.",
  ];
}

function announce() {
  const now = calls(page.state);
  if (announced && page.screen !== "ready") {
    for (const [key, { words, kind }] of now) if (!announced.has(key)) voice.call(words, kind);
  }
  announced = new Set(now.keys());
  const want = page.screen === "hand" ? inHand(page.state, page.chosen) : null;
  const [due] = want && want.action === "begin" && want.want !== "paused" && !checkDue(page.state) ? cautionsDue(page.state, want.step) : [];
  if (due && due.key !== shownCaution) voice.call(firstClause(due.text), "caution");
  shownCaution = due?.key ?? "";
}

function tick() {
  if (page.screen === "loading" || !queue) return;
  page.state = fold(all(), Math.round(clock.now() * 1000));
  page.undo = undoable();
  page.armed = armedFor !== null && armedFor.until > clock.steady();
  if (page.warning && clock.steady() > warningUntil) page.warning = "";
  page.linkWords = linkWords();
  page.refused = [...queue.refused.values()];
  if (page.refused.length && !page.warning && page.screen === "hand") page.warning = `The server turned down ${page.refused.length}: see More.`;
  page.preflight = preflight();
  page.dimWords = DIMS[page.dim];
  if (voice.mode() !== page.sound) page.sound = voice.mode();
  if (["list", "event"].includes(page.screen)) page.happened = happened();
  if (page.proposal && plateOf(page.state, page.proposal)?.state !== "open") page.proposal = null;
  announce();
  draw(main, describe(page), page.screen);
}

function go(screen) {
  page.screen = screen;
  page.mark = 0;
  page.from = 0;
  armedFor = null;
  tick();
}

function warn(sentence) {
  page.warning = sentence;
  warningUntil = clock.steady() + 8000;
  tick();
}

// ---- What a touch or a key does --------------------------------------------------------------

function applyLook() {
  const root = document.documentElement;
  root.classList.toggle("paper", page.paper);
  root.classList.toggle("red", !page.paper);
  DIMS.forEach((_, level) => root.classList.toggle(`dim-${level}`, !page.paper && level === page.dim));
  document.querySelector("meta[name=theme-color]").content = page.paper ? "#f7f3e9" : "#000000";
}

function openPad({ title, unit, note, minus = false, point = true, done }) {
  page.pad = { title, unit, note, minus, point, done, text: "" };
  go("pad");
}

function padNumber() {
  const value = Number(page.pad.text.replace("−", "-"));
  return page.pad.text !== "" && Number.isFinite(value) ? value : null;
}

const current = () => inHand(page.state, page.chosen);

function begin({ plate, step }, lateS = 0) {
  const found = plateOf(page.state, plate);
  if (found?.current !== step || stepOf(found, step).state !== "ready") return; // a stale target
  add("step_begun", { plate, step }, lateS);
  voice.call(ruleOf(page.state, step).speak || ruleOf(page.state, step).title, "step");
  page.chosen = ruleOf(page.state, step).attended ? plate : null;
}

function end({ plate, step }, lateS = 0) {
  const found = plateOf(page.state, plate);
  if (found?.current !== step || stepOf(found, step).state !== "running") return;
  if (!ruleOf(page.state, step).attended && stepOf(found, step).left_s > 0 && lateS === 0) {
    const key = `${plate} ${step}`;
    if (armedFor?.key !== key || armedFor.until <= clock.steady()) {
      armedFor = { key, until: clock.steady() + ARMED_MS };
      return tick();
    }
  }
  armedFor = null;
  page.chosen = null;
  page.mark = 0;
  add("step_ended", { plate, step }, lateS);
}

function answer({ plate, step, answer: word }) {
  page.mark = 0;
  if (!stepOf(plateOf(page.state, plate), step).check_due) return;
  if (word === "wrong") page.proposal = plate;
  add("check_answered", { plate, step, body: { answer: word, value: null, words: "" } });
}

function late() {
  const want = current();
  if (!want || (want.action === "begin" && cautionsDue(page.state, want.step).length)) return warn("Its cautions come first.");
  const what = want.action === "end" ? "ended" : "begun";
  openPad({
    title: `${want.label}: ${ruleOf(page.state, want.step).title} was ${what} …`,
    unit: "minutes ago",
    note: "It takes its place in time.",
    done(minutes) {
      (want.action === "end" ? end : begin)({ plate: want.plate, step: want.step }, minutes * 60);
      go("hand");
    },
  });
}

function earlier(id) {
  const event = all().find((one) => one.id === id);
  if (!event) return;
  openPad({
    title: "It was earlier by …",
    unit: "minutes",
    note: "than written now.",
    done(minutes) {
      add("corrected", { body: { event: id, at: writeMoment(readMoment(event.at) - Math.round(minutes * 60e6)) } });
      go("list");
    },
  });
}

function withdraw(id) {
  const undoing = all().filter((event) => event.kind === "corrected" && event.body.event === id && event.body.withdrawn === true && !takenBack().has(event.id));
  if (undoing.length) for (const event of undoing) add("corrected", { body: { event: event.id, withdrawn: true } });
  else add("corrected", { body: { event: id, withdrawn: true } });
  go("list");
}

function write() {
  if (page.screen === "pad") {
    const value = padNumber();
    if (value === null) return warn("No number yet.");
    return page.pad.done(value);
  }
  const words = (main.querySelector("input.words")?.value ?? "").trim();
  if (!words) return warn("No words yet.");
  return ACTS.say(words);
}

const ACTS = {
  again: () => location.reload(),
  start() {
    wake.want();
    voice.choose(SOUNDS[remembered("bench-sound", SOUNDS.length)]);
    document.documentElement.requestFullscreen?.().catch(() => {});
    go("hand");
  },
  back: () => go("hand"),
  plates: () => go("plates"),
  more: () => go("more"),
  readings: () => go("readings"),
  remarks() {
    page.field = "";
    go("remark");
  },
  list: () => go("list"),
  newer() {
    page.from = Math.max(0, page.from - pageSize(page.screen));
    tick();
  },
  older() {
    page.from += pageSize(page.screen);
    tick();
  },
  event(id) {
    page.picked = id;
    go("event");
  },
  take(plate) {
    page.chosen = plate;
    go("hand");
  },
  seen: ({ step, caution }) => add("caution_shown", { step, body: { caution } }),
  begin: (aim) => begin(aim),
  end: (aim) => end(aim),
  answer,
  keepOn() {
    page.proposal = null;
    tick();
  },
  pauseRun() {
    add("paused");
    go("hand");
  },
  resumeRun() {
    add("resumed");
    go("hand");
  },
  pausePlate(plate) {
    add("paused", { plate });
    go("hand");
  },
  resumePlate(plate) {
    add("resumed", { plate });
    go("hand");
  },
  late,
  earlier,
  withdraw,
  write,
  skip() {
    const want = current();
    if (!want) return;
    page.aim = { plate: want.plate, step: want.step, label: want.label, title: ruleOf(page.state, want.step).title };
    go("skip");
  },
  skipNow() {
    const { plate, step } = page.aim;
    add("step_skipped", { plate, step, body: { why: "left out at the bench" } });
    go("hand");
  },
  giveUp(plate) {
    page.aim = { plate, label: plateOf(page.state, plate).label };
    go("giveUp");
  },
  giveUpNow(why) {
    page.proposal = null;
    page.chosen = null;
    add("plate_abandoned", { plate: page.aim.plate, body: { why } });
    go("hand");
  },
  close: () => go("close"),
  closeNow() {
    add("run_closed");
    go("hand");
  },
  quantity(what) {
    const { title, unit } = QUANTITIES.find((one) => one.what === what);
    openPad({
      title,
      unit,
      note: "",
      minus: unit === "°C" || unit === "EV",
      done(value) {
        add("reading_taken", { body: { what, value, unit, source: "by hand" } });
        go("hand");
      },
    });
  },
  key(letter) {
    const { pad } = page;
    if (letter === "−" ? pad.text !== "" || !pad.minus : letter === "." ? pad.text.includes(".") || !pad.point : pad.text.length >= 7) return;
    pad.text += letter;
    tick();
  },
  rub() {
    page.pad.text = page.pad.text.slice(0, -1);
    tick();
  },
  say(words) {
    const want = current();
    add("remark_made", { plate: want?.plate ?? null, step: want?.step ?? null, body: { words } });
    go("hand");
  },
  undo() {
    const last = undoable();
    if (!last) return;
    page.proposal = null;
    page.chosen = null;
    armedFor = null;
    add("corrected", { body: { event: last.id, withdrawn: true } });
    if (page.screen !== "hand") go("hand");
  },
  sound() {
    const next = (SOUNDS.indexOf(voice.mode()) + 1) % SOUNDS.length;
    localStorage.setItem("bench-sound", String(next));
    voice.choose(SOUNDS[next]);
    tick();
  },
  dim() {
    page.dim = (page.dim + 1) % DIMS.length;
    localStorage.setItem("bench-dim", String(page.dim));
    applyLook();
    tick();
  },
  daylight: () => go("daylight"),
  paper() {
    page.paper = true; // never remembered: a reload in the dark must come up black
    applyLook();
    go("hand");
  },
  red() {
    page.paper = false;
    applyLook();
    go("hand");
  },
  turned: () => go("turned"),
  offer() {
    queue.offerAgain();
    go("hand");
  },
  async throw() {
    await queue.forget([...queue.refused.keys()]);
    go("hand");
  },
  none() {},
  /** The one key: whatever the screen's one big action is. */
  go() {
    const screen = describe(page);
    if (screen.action) return ACTS[screen.action.act](screen.action.arg);
    if (page.screen === "hand" && screen.choices) {
      const chosen = screen.choices.find((one) => one.chosen);
      return ACTS[chosen.act](chosen.arg);
    }
    if (page.screen === "pad" || page.screen === "remark") return write();
    if (page.screen !== "hand") return go("hand");
    return undefined;
  },
  /** The second key or pedal: the next answer, or the next plate. */
  other() {
    const screen = describe(page);
    if (page.screen !== "hand") return go("hand");
    if (screen.choices) page.mark = (page.mark + 1) % screen.choices.length;
    else {
      const order = page.state.plates.filter((plate) => plate.state === "open").map((plate) => plate.id);
      page.chosen = order[(order.indexOf(current()?.plate) + 1) % order.length] ?? null;
    }
    return tick();
  },
  answerAt(place) {
    const one = describe(page).choices?.[place];
    if (one) ACTS[one.act](one.arg);
  },
};

function act(name, arg = null) {
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
  if (state === "open") queue.send();
  else if (page.screen === "loading") come(state, sentence);
  if (state === "shut" && page.screen !== "loading" && page.screen !== "trouble") warn("The server wants this device paired again: open /pair in another room.");
  tick();
}

async function come(state, sentence) {
  if (state === "none") return fail(sentence || "There is no such run in this book.");
  const kept = await shelf.get("runs", run).catch(() => null);
  if (!kept) return fail(state === "shut" ? "This device is not paired. Open /pair and enter the host’s code." : "The server does not answer. Start it, then try again.");
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

/** Without its look the page would show the browser's own grey targets: then words only. */
function looksRight() {
  return getComputedStyle(document.documentElement).getPropertyValue("--ground") !== "";
}

async function up() {
  if (!looksRight()) {
    main.textContent = "The look of this page did not come. Load it again.";
    return;
  }
  applyLook();
  shelf = await openShelf();
  queue = makeQueue({
    run,
    shelf,
    clock,
    onStored(record, { seq, at }) {
      if (!events.get(record.id)?.seq) events.set(record.id, asEvent(record, at, seq));
      keepSoon();
      tick();
    },
    onRefused(record) {
      warn(`Turned down: ${record.why}`);
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
  });
  listen(main, {
    act,
    touched: () => {},
    onScreen() {
      const screen = describe(page);
      return { name: page.screen, many: Boolean(screen.many), pad: page.screen === "pad", answers: Boolean(screen.choices) };
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

up().catch(() => fail("The page could not start. Load it again."));
