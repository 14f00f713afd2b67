// What a touch or a key does: one name for each target of the screens.

import { makeLook } from "./coat.js";
import { cautionsDue, inHand, mayGoBack, plateOf, ruleOf, stepOf } from "./glance.js";
import { takenBack, undoable } from "./happened.js";
import { DIMS, applyLook, remembered } from "./look.js";
import { readMoment, writeMoment } from "./moments.js";
import { answered, choices, isOver, newForm, remarked, toldBy } from "./questions.js";
import { PAD, WHY, fill } from "./say.js";
import { describe, formOf, moreChoices, pageSize } from "./screens.js";
import { QUANTITIES } from "./words.js";

const ARMED_MS = 5000;
const SOUNDS = ["silent", "voice", "tones"];

/**
 * Return the acts by name. add(kind, parts, lateS) makes an event, go(screen) turns to a screen,
 * tick() draws, warn(sentence) tells, all() gives the run's events, queue() the queue.
 */
export function makeActs({ page, main, clock, voice, wake, add, go, tick, warn, all, queue }) {
  function openPad({ title, unit, note, low = 0, high = Infinity, point = true, done }) {
    page.pad = { title, unit, note, low, high, minus: low < 0, point, done, text: "" };
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

  function goBack({ plate, step, why }) {
    page.mark = 0;
    page.proposal = null;
    if (mayGoBack(page.state, plateOf(page.state, plate)).some((one) => one.key === step)) {
      add("step_redone", { plate, step, body: { why } });
      page.chosen = plate; // the hands stay with it
    }
    go("hand");
  }

  function end({ plate, step }, lateS = 0) {
    const found = plateOf(page.state, plate);
    if (found?.current !== step || stepOf(found, step).state !== "running") return;
    if (!ruleOf(page.state, step).attended && stepOf(found, step).left_s > 0 && lateS === 0) {
      const key = `${plate} ${step}`;
      if (page.armedFor?.key !== key || page.armedFor.until <= clock.steady()) {
        page.armedFor = { key, until: clock.steady() + ARMED_MS };
        return tick();
      }
    }
    page.armedFor = null;
    page.chosen = null;
    page.mark = 0;
    add("step_ended", { plate, step }, lateS);
  }

  function answer({ plate, step, answer: word }) {
    const { ask } = stepOf(plateOf(page.state, plate), step);
    page.mark = 0;
    if (!ask) return;
    const begins = ask.when === "before" && word !== "wrong";
    if (word === "wrong") page.proposal = { plate, step };
    if (ask.when === "before") for (const { key } of cautionsDue(page.state, step)) add("caution_shown", { step, body: { caution: key } });
    add("check_answered", { plate, step, body: { answer: word, value: null, words: "", when: ask.when, at_minutes: ask.at_minutes } });
    if (begins) begin({ plate, step });
  }

  function endWith({ plate, step, answer: word }) {
    end({ plate, step });
    answer({ plate, step, answer: word });
  }

  /** Go on with the questions about a plate, and write down what they come to. */
  function ask(form) {
    page.form = form;
    page.mark = 0;
    page.from = 0;
    if (!isOver(form)) return page.screen === "remark" ? go(page.formScreen) : tick();
    const { kind, body } = toldBy(form, page.state);
    closeForm();
    page.proposal = null;
    page.chosen = null;
    add(kind, { plate: form.plate, body });
    return go("hand");
  }

  function closeForm() {
    page.form = null;
    page.before = [];
  }

  function openForm(id, givesUp) {
    page.before = [];
    page.form = newForm(page.state, id, givesUp);
    go("form");
  }

  function formAnswer(key) {
    const form = formOf(page);
    if (key === "remark") {
      page.form = form;
      page.formScreen = page.screen;
      page.field = form.words;
      return go("remark");
    }
    if (key !== "later" && !choices(form).some(([one]) => one === key)) return undefined; // a stale target
    page.before.push(form);
    return ask(answered(form, key));
  }

  function formBack() {
    if (page.before.length) return ask(page.before.pop());
    if (page.screen === "hand") return ACTS.undo();
    closeForm();
    return go("hand");
  }

  /** Answer the new plan that is in sight, and no other. */
  function answerPlan(kind) {
    const { offer } = page.state;
    if (offer && describe(page).offer) add(kind, { body: { offer: offer.event } });
  }

  /** Take the plate more that is offered in sight into the run. */
  function addPlate() {
    const more = describe(page).offer && page.state.offer.more;
    if (more) add("plate_added", { plate: more.id, body: { label: more.label, once: more.once } });
  }

  function late() {
    const want = current();
    if (!want || (want.action === "begin" && cautionsDue(page.state, want.step).length)) return warn(PAD.cautionsFirst);
    openPad({
      title: fill(want.action === "end" ? PAD.ended : PAD.begun, { label: want.label, title: ruleOf(page.state, want.step).title }),
      unit: PAD.minutesAgo,
      note: "",
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
      title: PAD.earlierBy,
      unit: "minutes",
      note: PAD.thanNow,
      done(minutes) {
        add("corrected", { body: { event: id, at: writeMoment(readMoment(event.at) - Math.round(minutes * 60e6)) } });
        go("list");
      },
    });
  }

  function withdraw(id) {
    const undoing = all().filter((event) => event.kind === "corrected" && event.body.event === id && event.body.withdrawn === true && !takenBack(all()).has(event.id));
    if (undoing.length) for (const event of undoing) add("corrected", { body: { event: event.id, withdrawn: true } });
    else add("corrected", { body: { event: id, withdrawn: true } });
    go("list");
  }

  function write() {
    if (page.screen === "pad") {
      const value = padNumber();
      const { low, high, unit } = page.pad;
      if (value === null) return warn(PAD.noNumber);
      if (value < low || value > high) return warn(fill(PAD.outside, { value, unit, low, high })); // the book would refuse it
      return page.pad.done(value);
    }
    const words = (main.querySelector("input.words")?.value ?? "").trim();
    if (!words) return warn(PAD.noWords);
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
    back() {
      if (page.screen === "remark" && page.form) return go(page.formScreen);
      closeForm();
      return go("hand");
    },
    plates: () => go("plates"),
    more: () => go("more"),
    readings: () => go("readings"),
    remarks() {
      closeForm();
      page.field = "";
      go("remark");
    },
    list: () => go("list"),
    range: () => go("range"),
    newer() {
      page.from = Math.max(0, page.from - pageSize(page.screen));
      tick();
    },
    older() {
      page.from += pageSize(page.screen);
      tick();
    },
    /** The next page of the answers to a question; after the last the first. */
    turn() {
      page.from += pageSize("form");
      if (page.from >= choices(formOf(page)).length) page.from = 0;
      page.mark = 0;
      tick();
    },
    event(id) {
      page.picked = id;
      go("event");
    },
    take(plate) {
      const { begun, state, grade_due: due } = plateOf(page.state, plate);
      if (due || (begun && state === "done")) return openForm(plate, false);
      page.chosen = plate;
      return go("hand");
    },
    readAll: (keys) => add("cautions_read", { body: { cautions: keys } }),
    seen({ plate, step, cautions }) {
      for (const caution of cautions) add("caution_shown", { step, body: { caution } });
      begin({ plate, step });
    },
    endWith,
    formAnswer,
    formBack,
    begin: (aim) => begin(aim),
    end: (aim) => end(aim),
    answer,
    keepOn() {
      page.mark = 0;
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
      add("step_skipped", { plate, step, body: { why: WHY.skipped } });
      go("hand");
    },
    redo(plate) {
      page.aim = { plate };
      go("redo");
    },
    redoNow: (aim) => goBack(aim),
    giveUp: (plate) => openForm(plate, true),
    close: () => go("close"),
    closeNow() {
      add("run_closed");
      go("hand");
    },
    leave: () => go("leave"),
    async leaveNow() {
      // Without the server the browser would show a page of its own, white and empty.
      const there = await fetch("/api/health", { cache: "no-store" }).then((answer) => answer.ok, () => false);
      if (there) location.assign(`/runs/${encodeURIComponent(document.body.dataset.run)}`);
      else warn(PAD.noServer);
    },
    quantity(what) {
      const { title, unit, low, high } = QUANTITIES.find((one) => one.what === what);
      openPad({
        title,
        unit,
        note: "",
        low,
        high,
        done(value) {
          add("reading_taken", { body: { what, value, unit, source: WHY.byHand } });
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
      if (page.form) return ask(remarked(page.form, words));
      const want = current();
      add("remark_made", { plate: want?.plate ?? null, step: want?.step ?? null, body: { words } });
      return go("hand");
    },
    undo() {
      const last = undoable(all(), page.mine, clock.steady());
      if (!last) return;
      page.proposal = null;
      page.chosen = all().find((one) => last.ids.includes(one.id) && one.kind === "plate_abandoned")?.plate ?? null; // it is in hand again
      page.armedFor = null;
      closeForm();
      for (const id of last.ids) add("corrected", { body: { event: id, withdrawn: true } });
      if (page.screen !== "hand") go("hand");
    },
    takePlan: () => answerPlan("plan_taken"),
    keepPlan: () => answerPlan("plan_declined"),
    addPlate,
    sound() {
      const next = (SOUNDS.indexOf(voice.mode()) + 1) % SOUNDS.length;
      localStorage.setItem("bench-sound", String(next));
      voice.choose(SOUNDS[next]);
      tick();
    },
    dim() {
      page.dim = (page.dim + 1) % DIMS.length;
      localStorage.setItem("bench-dim", String(page.dim));
      applyLook(page);
      tick();
    },
    daylight: () => go("daylight"),
    paper() {
      page.paper = true; // never remembered: a reload in the dark must come up black
      applyLook(page);
      go("hand");
    },
    red() {
      page.paper = false;
      applyLook(page);
      go("hand");
    },
    turned: () => go("turned"),
    offer() {
      queue().offerAgain();
      go("hand");
    },
    async throw() {
      await queue().forget([...queue().refused.keys()]);
      go("hand");
    },
    none() {},
    ...makeLook({ page, clock, add, go, tick }),
    /** The one key: whatever the screen's one big action is. */
    go() {
      const screen = describe(page);
      if (screen.action) return ACTS[screen.action.act](screen.action.arg);
      if ((["hand", "look"].includes(page.screen) || screen.form) && screen.choices) {
        const chosen = [...screen.choices, ...screen.row].find((one) => one.chosen);
        return ACTS[chosen.act](chosen.arg);
      }
      if (page.screen === "pad" || page.screen === "remark") return write();
      if (page.screen !== "hand") return go("hand");
      return undefined;
    },
    /** The second key or pedal: the next answer, or the next plate. */
    other() {
      const screen = describe(page);
      if (screen.form) {
        page.mark = (page.mark + 1) % (choices(formOf(page)).length + 1);
        page.from = Math.floor(Math.max(0, page.mark - 1) / pageSize("form")) * pageSize("form");
        return tick();
      }
      if (!["hand", "look"].includes(page.screen)) return go("hand");
      if (screen.choices) page.mark = (page.mark + 1) % screen.choices.length;
      else ACTS.nextPlate();
      return tick();
    },
    nextPlate() {
      const order = page.state.plates.filter((plate) => plate.state === "open").map((plate) => plate.id);
      page.chosen = order[(order.indexOf(current()?.plate) + 1) % order.length] ?? null;
      tick();
    },
    /** What a letter does where a plate is in hand: one of the names that can be done now. */
    ofThePlate(names) {
      const one = [{ act: "nextPlate" }, ...moreChoices(page)].find(({ act }) => names.includes(act));
      if (one) ACTS[one.act](one.arg);
    },
    answerAt(place) {
      const one = describe(page).choices?.[place];
      if (one) ACTS[one.act](one.arg);
    },
  };

  return ACTS;
}
