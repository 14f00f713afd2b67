// Keeping the screen awake. Browsers allow it only on a secure page: https or this machine itself.

export function makeWake({ locks = globalThis.navigator.wakeLock, secure = globalThis.isSecureContext, onChange = () => {} } = {}) {
  let held = null;
  let wanted = false;

  async function take() {
    if (!wanted || held || !locks || document.visibilityState !== "visible") return;
    try {
      held = await locks.request("screen");
      held.addEventListener("release", () => {
        held = null;
        onChange();
      });
    } catch {
      held = null;
    }
    onChange();
  }
  document.addEventListener("visibilitychange", take);
  return {
    can: () => Boolean(secure && locks),
    held: () => held !== null,
    want() {
      wanted = true;
      return take();
    },
    /** One line for the look over the tablet before the run. */
    words() {
      if (!(secure && locks)) return "Screen: set the tablet’s auto-lock to never. This page may not keep it awake.";
      if (held) return "Screen: kept awake by this page.";
      return wanted ? "Screen: set the tablet’s auto-lock to never. The browser refused to keep it awake." : "Screen: kept awake from the start of the run.";
    },
  };
}
