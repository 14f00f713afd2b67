// The wire to the server: the run's events once, then each new one as it comes, and a heartbeat
// that notices a dead network before the browser does.

const BEAT_MS = 5000;
const PATIENCE_MS = 4000;
const AGAIN_MS = 1500;
const AIR = new Set(["room_c", "room_rh_pct"]);

/**
 * Follow a run. onAnswer({events}) is told the whole run after each (re)connection, onEvent(event)
 * each new event, onState("open" | "cut" | "shut" | "none", sentence) how the wire is, onClock(words)
 * whether the house's clock is minutes off, onAir([{what, value, at}])
 * what was last read of the room's air by anybody, where wantsAir() is true.
 */
export function follow({ run, clock, onAnswer, onEvent, onState, onClock, wantsAir, onAir }) {
  const path = `/api/runs/${encodeURIComponent(run)}`;
  let source = null;
  let state = "";
  let last = 0;
  let fetching = false;

  function say(next, sentence = "") {
    if (next === state) return;
    state = next;
    onState(next, sentence);
  }

  async function ask(address) {
    const stop = new AbortController();
    const giveUp = setTimeout(() => stop.abort(), PATIENCE_MS);
    const sent = clock.steady();
    try {
      const answer = await fetch(address, { credentials: "same-origin", cache: "no-store", signal: stop.signal });
      const body = await answer.json().catch(() => ({}));
      if (answer.ok && body.server_now) clock.learn(Date.parse(body.server_now), sent);
      if (answer.ok && typeof body.clock === "string") onClock(body.clock);
      return { status: answer.status, body };
    } finally {
      clearTimeout(giveUp);
    }
  }

  async function whole() {
    if (fetching) return;
    fetching = true;
    try {
      const { status, body } = await ask(path);
      if (status === 200) {
        last = Math.max(last, body.seq);
        onAnswer(body);
        listen();
        say("open");
      } else if (status === 401 || status === 403) say("shut", body.error);
      else if (status === 404 || status === 422) say("none", body.error);
      else say("cut");
    } catch {
      say("cut");
    } finally {
      fetching = false;
    }
  }

  function listen() {
    source?.close();
    source = new EventSource(`${path}/stream?after=${last}`);
    source.addEventListener("event", (message) => {
      const event = JSON.parse(message.data);
      last = Math.max(last, event.seq);
      onEvent(event);
    });
    source.onerror = () => {
      source?.close();
      source = null;
      say("cut");
      setTimeout(beat, AGAIN_MS);
    };
  }

  /** Ask for the air of the room: the newest believed reading of each, whoever took it; dew.js judges its age. */
  async function breathe() {
    const { status, body } = await ask("/api/readings/latest");
    if (status !== 200) return;
    const read = Object.entries(body.readings).filter(([what, one]) => AIR.has(what) && (one.usable || !one.newest_doubt));
    onAir(read.map(([what, { value, at }]) => ({ what, value, at, plate: null })));
  }

  async function beat() {
    if (state === "none") return;
    try {
      const { status } = await ask("/api/health");
      if (status !== 200) throw new Error(String(status));
      if (!source || state !== "open") await whole();
      if (wantsAir()) await breathe();
    } catch {
      source?.close();
      source = null;
      say("cut");
    }
  }

  setInterval(beat, BEAT_MS);
  globalThis.addEventListener("online", beat);
  globalThis.addEventListener("offline", beat);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") beat();
  });
  return { start: whole, again: beat, state: () => state };
}
