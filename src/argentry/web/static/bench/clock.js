// The steady clock of the page. It runs on performance.now(), so a jump of the wall clock or a
// change of the hour does not touch it; the server's clock is learnt from each answer.
// performance.now() may stand still while a tablet sleeps: on waking, the wall clock says how long.

const ENOUGH_MS = 250; // a server time nearer than this to ours is not worth a jump of the figures
const TICK_MS = 0.001; // the book counts in microseconds
const SLEPT_MS = 2000; // wall and steady clock apart by this much across a sleep

export function makeClock({ perf = () => performance.now(), wall = () => Date.now() } = {}) {
  const boot = Array.from(crypto.getRandomValues(new Uint8Array(8)), (byte) => byte.toString(16)).join("");
  let slept = 0;
  let base = wall() - perf(); // server milliseconds at steady zero; the wall clock until told better
  let synced = false;
  let hiddenAt = null;

  const steady = () => perf() + slept;
  return {
    boot,
    steady,
    wall,
    synced: () => synced,
    now: () => base + steady(),
    /** Server time, in milliseconds, of a moment of this page's steady clock. */
    at: (moment) => base + moment,
    /** Learn the server's time from an answer; `sent` is the steady time of the question. */
    learn(serverMs, sent) {
      const received = steady();
      const heard = serverMs - (sent + received) / 2;
      const blur = (received - sent) / 2;
      if (!synced || Math.abs(heard - base) > blur + ENOUGH_MS) base = heard;
      synced = true;
    },
    /** A server time, in milliseconds, that has passed: what a hand does from now on is later, whatever we thought. */
    passed(serverMs) {
      base = Math.max(base, serverMs + TICK_MS - steady());
    },
    /** Without a server after a reload: go on from what was kept, by the wall clock. */
    goOnFrom(kept) {
      if (synced || !kept) return;
      base = kept.server + (wall() - kept.wall) - steady();
    },
    /** What to keep for `goOnFrom`. */
    keep: () => ({ server: base + steady(), wall: wall() }),
    hidden() {
      hiddenAt = { steady: steady(), wall: wall() };
    },
    shown() {
      if (!hiddenAt) return 0;
      const lost = wall() - hiddenAt.wall - (steady() - hiddenAt.steady);
      hiddenAt = null;
      if (lost < SLEPT_MS) return 0;
      slept += lost;
      return lost;
    },
    /** Seconds from a kept moment, also one kept before a reload, to another. */
    age(made, now = this.moment()) {
      const ms = made.boot === boot ? now.steady - made.steady : now.wall - made.wall;
      return Math.max(0, ms / 1000);
    },
    /** The moment now, to be kept with an event; `lateS` seconds earlier for a late entry. */
    moment(lateS = 0) {
      return { boot, steady: steady() - lateS * 1000, wall: wall() - lateS * 1000 };
    },
    /** Server time of a kept moment, also one kept before a reload. */
    ofMoment(made) {
      return made.boot === boot ? base + made.steady : base + steady() - Math.max(0, wall() - made.wall);
    },
  };
}

