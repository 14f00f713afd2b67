// A look at a coat or at a ripening plate: the tablet's camera, the picture on its way, and the answer.

import { plateOf, stepOf } from "./glance.js";
import { remembered } from "./look.js";
import { LOOK, fill } from "./say.js";

const PATIENCE_MS = 70000;
const LEVELS = 8; // of red: the thinner a field the darker it is
const LIGHTS = ["", "tungsten", "led", "window", "overcast", "red"];
const EDGES = ["bottom", "top", "left", "right"]; // where the bare silver shows in the picture
const lightNow = () => LIGHTS[remembered("bench-light", LIGHTS.length)];
const edgeNow = () => EDGES[remembered("bench-edge", EDGES.length)];
/** Phones of the studio's own scales whose pictures do not name them: one of these may be said. */
const phones = () => JSON.parse(document.body.dataset.phones ?? "[]");
const phoneNow = () => phones().find((one) => one === localStorage.getItem("bench-phone")) ?? "";
const turned = (key, all, now) => localStorage.setItem(key, String((all.indexOf(now) + 1) % all.length));

/** What the screen of a look says; `choice` makes a target. */
export function lookScreen(page, choice, back) {
  const { label, state, words, answer, map, of } = page.look;
  const edge = choice("lookEdge", LOOK.edge, null, { under: edgeNow() });
  if (state === "aim") return { plate: label, word: LOOK.throughFilter, long: true, lines: [LOOK.noLight, LOOK.nameEdge], action: choice("lookNew", LOOK.camera), row: [back, edge] };
  if (state === "sending") return { plate: label, word: LOOK.sending, row: [back] };
  if (state === "failed") return { plate: label, word: LOOK.failed, lines: [words], columns: 1, choices: [choice("lookAgain", LOOK.again, null, { chosen: true }), choice("lookNew", LOOK.another)], row: [back] };
  if (of === "ripening") {
    const row = [back, choice("lookNew", LOOK.another), edge];
    const said = { plate: label, word: answer.line, long: true, lines: answer.notes, row };
    if (answer.ripe_dose_kj_m2 === null) return said;
    return { ...said, columns: 2, choices: [choice("takeRipe", LOOK.takeIt), choice("leaveRipe", LOOK.leaveIt)].map((one, place) => ({ ...one, chosen: place === page.mark })) };
  }
  const told = answer.thickness_nm !== null;
  const noScale = answer.not_told.filter(({ what }) => what === "scale").map(({ why }) => fill(LOOK.noScale, { why }));
  const lines = [...answer.cautions, ...answer.notes, ...noScale];
  const row = [back, choice("lookNew", LOOK.another), choice("lookLight", LOOK.light, null, { under: lightNow() || LOOK.notSaid })];
  const asks = phones().length && answer.phone?.from !== "picture";
  const beside = asks ? [choice("lookPhone", LOOK.phone, null, { under: phoneNow() || LOOK.notSaid })] : undefined;
  if (!told) return { plate: label, word: answer.line, long: true, lines, map, row, beside };
  const choices = [choice("soItIs", LOOK.soItIs), choice("notSo", LOOK.notSo)].map((one, place) => ({ ...one, chosen: place === page.mark }));
  return { plate: label, word: answer.line, long: true, lines, map, columns: 2, choices, row, beside };
}

/** The fields as rows of levels from 0 (thin) up; null where nothing is seen. */
export function levels({ map, order }) {
  const rows = map ? map.thickness_nm : order;
  if (!rows) return null;
  const seen = rows.flat().filter((one) => one !== null);
  const low = Math.min(...seen);
  const wide = Math.max(Math.max(...seen) - low, map ? 4 : 1e-9);
  return rows.map((row) => row.map((one) => (one === null ? null : Math.round(((one - low) / wide) * (LEVELS - 1)))));
}

/** The acts of a look. */
export function makeLook({ page, clock, add, go, tick }) {
  const run = document.body.dataset.run;

  /** The camera, or a file: it works over plain HTTP, which a page's own camera does not. */
  function open(aim) {
    const input = document.createElement("input");
    input.type = "file";
    input.accept = "image/*";
    input.setAttribute("capture", "environment");
    input.hidden = true;
    input.onchange = () => {
      const [file] = input.files;
      input.remove();
      if (file) send({ ...aim, file, made: clock.moment() });
    };
    input.oncancel = () => input.remove();
    document.body.append(input);
    input.click();
  }

  /** Send a picture; `quietly` leaves the screen as it is, whatever the hands do now. */
  async function send(look, quietly = false) {
    const { file, plate } = look;
    const label = plateOf(page.state, plate)?.label ?? look.label;
    const mine = { ...look, label, state: "sending", waits: false, words: "", answer: null, map: null };
    page.look = mine;
    if (!quietly) go("look");
    const query = new URLSearchParams({ plate, name: file.name ?? "" });
    if (look.of === "ripening") Object.entries({ of: look.of, bare: edgeNow(), age_s: clock.age(look.made) }).forEach((pair) => query.set(...pair));
    else Object.entries({ light: lightNow(), phone: phoneNow() }).forEach(([key, said]) => said && query.set(key, said));
    const stop = new AbortController();
    const giveUp = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const sent = await fetch(`/api/runs/${encodeURIComponent(run)}/looks?${query}`, { method: "POST", body: file, credentials: "same-origin", signal: stop.signal, headers: { "Content-Type": file.type || "application/octet-stream" } });
      const answer = await sent.json().catch(() => ({}));
      if (sent.ok) Object.assign(mine, { state: "told", answer, map: look.of === "ripening" ? null : levels(answer) });
      else Object.assign(mine, { state: "failed", words: answer.error ?? LOOK.noServer });
    } catch {
      Object.assign(mine, { state: "failed", waits: true, words: LOOK.noServer });
    } finally {
      clearTimeout(giveUp);
    }
    tick();
  }

  function say(word) {
    const { plate, step, answer } = page.look;
    const { ask } = stepOf(plateOf(page.state, plate), step);
    page.mark = 0;
    if (ask && word === "right") {
      const [coat_l, coat_a, coat_b] = answer.lab;
      const [coat_low_nm, coat_high_nm] = answer.range_80_nm;
      const seen = { picture: answer.sha256, coat_l, coat_a, coat_b, coat_low_nm, coat_high_nm };
      add("check_answered", { plate, step, body: { answer: word, value: answer.thickness_nm, words: answer.line, when: ask.when, at_minutes: ask.at_minutes, seen } });
    }
    leave();
  }

  /** Take what the pictures say: the plate's end moves by it, and the look that is asked is answered. */
  function takeRipe() {
    const { plate, step, answer } = page.look;
    const { ask } = stepOf(plateOf(page.state, plate), step);
    const { sha256: picture, state, line: words, ripe_dose_kj_m2: dose_kj_m2, ripe_log_sd: log_sd, alone_kj_m2, alone_log_sd } = answer;
    add("ripe_seen", { plate, step, body: { picture, state, dose_kj_m2, log_sd, alone_kj_m2, alone_log_sd, words } });
    if (ask?.when === "during") add("check_answered", { plate, step, body: { answer: state === "veiling" ? "doubtful" : "right", value: null, words, when: ask.when, at_minutes: ask.at_minutes } });
    leave();
  }

  function leave() {
    page.mark = 0;
    page.look = null;
    go("hand");
  }

  return {
    lookAtCoat: open,
    /** What is on its way or was answered first; else what to mind before the camera opens. */
    lookAtRipening(aim) {
      if (page.look?.of !== "ripening" || page.look.plate !== aim.plate || page.look.state === "aim") page.look = { ...aim, of: "ripening", state: "aim", label: plateOf(page.state, aim.plate).label };
      go("look");
    },
    takeRipe,
    leaveRipe: leave,
    /** Say another edge; a picture that is there is read again. */
    lookEdge() {
      turned("bench-edge", EDGES, edgeNow());
      if (page.look.file) send(page.look);
      else tick();
    },
    lookAgain: () => send(page.look),
    /** The link is back: what could not be sent goes up now; the step never waited for it. */
    lookWaiting: () => page.look?.waits && send(page.look, true),
    lookNew: () => open({ plate: page.look.plate, step: page.look.step, of: page.look.of }),
    /** Say another light, and let the same picture be read again. */
    lookLight() {
      turned("bench-light", LIGHTS, lightNow());
      send(page.look);
    },
    /** Say another phone, the same way. */
    lookPhone() {
      const all = ["", ...phones()];
      localStorage.setItem("bench-phone", all[(all.indexOf(phoneNow()) + 1) % all.length]);
      send(page.look);
    },
    soItIs: () => say("right"),
    notSo: () => say("not so"),
  };
}
