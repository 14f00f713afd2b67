// Keeping the screen awake. Browsers allow it only on a secure page: https or this machine itself.

import { TABLET } from "./say.js";

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
    /** One line for the check of the tablet before the run. */
    words() {
      if (!(secure && locks)) return TABLET.autoLock;
      if (held) return TABLET.awake;
      return wanted ? TABLET.refused : TABLET.fromStart;
    },
  };
}
