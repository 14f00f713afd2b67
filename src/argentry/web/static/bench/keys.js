// Keys, pedals and fingers. A pedal is a keyboard; held keys and bounces count once.

const GO = [" ", "Enter", "PageDown", "ArrowRight", "ArrowDown"];
const OTHER = ["ArrowLeft", "ArrowUp", "PageUp"];
const BOUNCE_MS = 300;
const PRESS_MS = 3000; // no press lasts longer
const LIFTED_MS = 100; // the click of a lifted finger comes within it
// One meaning here and in the terminal (cli/bench/hand.py); *l*, *+*, *d* and *v* are the page's own.
const LETTERS = { u: "undo", l: "plates", "+": "more", r: "readings", d: "dim", v: "sound", t: "takePlan", k: "keepPlan", o: "addPlate" };
const OF_THE_PLATE = { n: ["nextPlate"], m: ["remarks"], p: ["pauseRun", "resumeRun"], s: ["skip"], b: ["redo"], x: ["giveUp"], w: ["range"] }; // where one is in hand

/**
 * Listen on `main`. act(name, arg) does a thing; onScreen() tells the screen's name and kind:
 * {name, many, pad, form, answers}; hold(ms) keeps the targets where they are under a finger.
 */
export function listen(main, { act, onScreen, hold }) {
  let last = -Infinity;
  const bounced = (event) => {
    const soon = event.timeStamp - last < BOUNCE_MS;
    if (!soon) last = event.timeStamp;
    return soon;
  };
  const focused = () => (document.activeElement instanceof HTMLButtonElement ? document.activeElement : null);

  main.addEventListener("pointerdown", () => hold(PRESS_MS));
  for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, () => hold(LIFTED_MS));
  main.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || button.classList.contains("off")) return;
    // After a finger nothing keeps the focus, or the pedal would press that target again.
    if (event.detail > 0) button.blur();
    const typed = button.dataset.act === "key";
    if (!typed && bounced(event)) return;
    act(button.dataset.act, button.dataset.arg === undefined ? null : JSON.parse(button.dataset.arg));
  });

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const { key } = event;
    const screen = onScreen();
    const inField = document.activeElement instanceof HTMLInputElement;
    if (inField && key !== "Enter" && key !== "Escape") return;
    if (event.repeat) {
      event.preventDefault();
      return;
    }
    if (screen.pad && /^[0-9.,-]$/.test(key)) return act("key", { ",": ".", "-": "−" }[key] ?? key);
    if (screen.pad && key === "Backspace") return act("rub");
    if ((screen.name === "hand" || screen.form) && screen.answers && /^[1-9]$/.test(key)) return bounced(event) ? undefined : act("answerAt", Number(key) - 1);
    if (key === "Tab") return;
    if (GO.includes(key) || OTHER.includes(key)) {
      if (focused() && (key === " " || key === "Enter")) return; // the target itself takes it
      event.preventDefault();
      if (bounced(event)) return;
      if (screen.many && !screen.form && key.startsWith("Arrow")) step(main, GO.includes(key) ? 1 : -1);
      else act(GO.includes(key) ? "go" : "other");
    } else if (key === "Backspace" || key === "Escape") {
      event.preventDefault();
      if (!bounced(event)) act(screen.form ? "formBack" : screen.name === "hand" ? "undo" : "back");
    } else if (OF_THE_PLATE[key.toLowerCase()] && screen.name === "hand" && !screen.form) {
      event.preventDefault();
      if (!bounced(event)) act("ofThePlate", OF_THE_PLATE[key.toLowerCase()]);
    } else if (LETTERS[key.toLowerCase()] && screen.name !== "ready") {
      event.preventDefault();
      if (!bounced(event)) act(LETTERS[key.toLowerCase()]);
    }
  });
}

/** Move the focus along the targets of a list, from the keyboard. */
function step(main, by) {
  const all = [...main.querySelectorAll("button:not(.off)")];
  const at = all.indexOf(document.activeElement);
  const here = at < 0 && by < 0 ? 0 : at; // from nowhere up is the last
  all[(here + by + all.length) % all.length]?.focus({ focusVisible: true });
}
