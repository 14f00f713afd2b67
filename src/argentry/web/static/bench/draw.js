// Puts a screen's description on the glass. The page is built again only when something other than
// the running figures changed, so that nothing moves but the time.

import { LOOK, SCREEN, fill } from "./say.js";
import { inUnits } from "./units.js";

let shape = "";
let heldUntil = 0;

/** Leave the glass as it stands for so long, until 0: rebuilt under a finger, a target would lose the press or hand it to another. */
export function hold(ms) {
  heldUntil = performance.now() + ms;
}

function make(tag, className, text) {
  const node = document.createElement(tag);
  if (className) node.className = className;
  if (text !== undefined) node.textContent = inUnits(text);
  return node;
}

function button({ act, label, arg, under, off, chosen, live }, className = "") {
  const node = make("button", className);
  node.type = "button";
  node.dataset.act = act;
  if (arg !== null && arg !== undefined) node.dataset.arg = JSON.stringify(arg);
  node.append(inUnits(label));
  if (off) {
    node.classList.add("off");
    node.setAttribute("aria-disabled", "true");
  }
  if (chosen) {
    node.classList.add("chosen");
    node.setAttribute("aria-current", "true");
  }
  if (under) node.append(make("span", "under", under));
  if (live) {
    const span = make("span", "under");
    span.dataset.live = live;
    node.append(span);
  }
  return node;
}

function top(screen) {
  const head = make("header", "top");
  const link = make("span", screen.cut ? "cut" : "");
  link.dataset.live = "link";
  link.setAttribute("role", "status");
  head.append(make("span", "title", screen.title), link);
  return head;
}

function hand(screen) {
  const section = make("section", screen.fine ? "hand fine" : "hand");
  if (screen.plate) section.append(make("p", `plate${screen.mark ? " warn" : ""}`, screen.plate));
  if (screen.word) section.append(make("h1", screen.long ? "word long" : "word", screen.word));
  if ("time" in screen.live) {
    const time = make("p", screen.over ? "time over" : "time");
    time.dataset.live = "time";
    time.setAttribute("role", "timer");
    section.append(time);
  }
  if (screen.note) section.append(make("p", "note", screen.note));
  if (screen.band) {
    const band = make("div", "band");
    band.setAttribute("aria-hidden", "true");
    band.style.setProperty("--low", screen.band.low);
    band.style.setProperty("--high", screen.band.high);
    const gone = make("div", "gone");
    gone.dataset.width = "gone";
    band.append(gone, make("div", "doubt"));
    section.append(band);
  }
  if ("plan" in screen.live) {
    const plan = make("p", screen.late ? "call" : "note");
    plan.dataset.live = "plan";
    section.append(plan);
  }
  for (const line of screen.lines ?? []) section.append(make("p", line.call ? "call spaced" : "spaced", line.text ?? line));
  if (screen.map) section.append(coatMap(screen.map));
  if (screen.warn) {
    const warn = make("p", "call warn spaced", screen.warn);
    warn.setAttribute("role", "alert");
    section.append(warn);
  }
  return section;
}

/** Fields of red, the brighter the thicker; what is not seen stays black. */
function coatMap(rows) {
  const map = make("div", "coat-map");
  map.setAttribute("role", "img");
  map.setAttribute("aria-label", LOOK.map);
  map.style.setProperty("--fields", String(rows[0].length));
  for (const level of rows.flat()) {
    const field = make("span");
    if (level !== null) field.style.setProperty("--share", (0.15 + (0.5 * level) / 7).toFixed(2));
    map.append(field);
  }
  return map;
}

function waiting(lines) {
  const list = make("ul", "waiting");
  for (const line of lines) {
    const item = make("li", "");
    const left = make("span", line.calls ? "calls" : "");
    if (line.live) left.dataset.live = line.live;
    else left.textContent = line.left ?? "";
    item.append(make("span", "", line.label), make("span", "what", line.what), left);
    list.append(item);
  }
  return list;
}

function field({ words, soft }) {
  const input = make("input", "words");
  input.type = "text";
  input.value = words;
  input.maxLength = 200;
  input.placeholder = SCREEN.orWriteIt;
  // In the dark no keyboard may light up on the glass: a real one types, the tablet's stays away.
  input.inputMode = soft ? "text" : "none";
  input.autocomplete = "off";
  input.spellcheck = false;
  input.setAttribute("autocorrect", "off");
  input.setAttribute("autocapitalize", "off");
  input.setAttribute("aria-label", "Remark");
  return input;
}

function words(screen) {
  const side = make("div", "side words-side");
  side.append(hand(screen));
  if (screen.waiting?.length) side.append(waiting(screen.waiting));
  if (screen.next) side.append(make("p", "next", screen.next));
  if (screen.offer) {
    const said = make("p", "offer", screen.offer.line);
    said.setAttribute("role", "status");
    side.append(said);
  }
  return side;
}

function rowOf(kind, targets) {
  const row = make(kind, "row");
  row.append(...targets.map((one) => button(one)));
  return row;
}

function targets(screen) {
  const side = make("div", "side");
  if (screen.offer) side.append(rowOf("div", screen.offer.answers));
  if (screen.said !== undefined) {
    const said = make("p", "said", screen.said);
    said.setAttribute("role", "status");
    side.append(said);
  }
  if (screen.field) side.append(field(screen.field));
  if (screen.choices) {
    const box = make("div", `choices${screen.many ? " many" : ""}${screen.list ? " list" : ""}`);
    box.style.setProperty("--columns", String(screen.columns ?? 1));
    box.append(...screen.choices.map((one) => button(one)));
    side.append(box);
  }
  if (screen.beside) side.append(rowOf("div", screen.beside));
  const action = screen.action && button(screen.action, "action");
  if (action && screen.withAction?.length) {
    const shared = make("div", "row shared");
    shared.append(action, ...screen.withAction.map((one) => button(one)));
    side.append(shared);
  } else if (action) side.append(action);
  if (screen.row) side.append(rowOf("nav", screen.row));
  return side;
}

function build(main, screen) {
  main.replaceChildren(top(screen), words(screen), targets(screen));
  main.classList.toggle("much", Boolean(screen.many || screen.said !== undefined));
}

const over = (node) => node.scrollHeight > node.clientHeight + 1;

/** Whether what the hands need does not stand whole on the glass. */
export const handIsOver = (main) => over(main.querySelector(".hand"));

/** Show as many cautions as fit beside what the hands need, none of them cut. */
function cautionsThatFit(next, hand) {
  next.dataset.all ??= next.textContent;
  next.textContent = next.dataset.all;
  next.hidden = false;
  next.classList.add("whole");
  if (over(hand)) next.classList.remove("whole");
  const all = next.dataset.all.split(/(?<=\.) /);
  for (let count = all.length - 1; count > 0 && over(next); count -= 1) {
    const some = all.slice(0, count).join(" ");
    next.textContent = `${some} ${fill(SCREEN.moreCautions, { count: all.length - count })}`;
    if (over(next)) next.textContent = some;
  }
  next.hidden = over(next); // of a later step, before which it is shown whole
}

/** How the rest gives way, step by step: each goes on top of those before it. Answers stand in pairs before any type shrinks. */
const GIVE_WAY = ["pairs", "tight", "tighter", "tightest", "least"];

/** Keep what the hands need whole: where it is not, everything else takes less room. */
function makeRoom(main) {
  const hand = main.querySelector(".hand");
  const next = main.querySelector(".next");
  main.classList.remove("roomy");
  for (let level = 0; level <= GIVE_WAY.length; level += 1) {
    GIVE_WAY.forEach((name, at) => main.classList.toggle(name, at < level));
    if (next) cautionsThatFit(next, hand);
    if (!over(hand)) break;
  }
  main.classList.add("roomy"); // the plates that wait come back where smaller type left room
  if (over(hand)) main.classList.remove("roomy");
}

/** Draw `screen` into `main`; `name` tells one screen from the next. */
export function draw(main, screen, name) {
  const { live, ...still } = screen;
  const before = shape;
  const next = JSON.stringify([name, still, Object.keys(live)]);
  if (next !== shape && performance.now() < heldUntil) return;
  if (next !== shape) {
    const had = document.activeElement;
    const kept = had instanceof HTMLButtonElement && had.matches(":focus-visible") ? [had.dataset.act, had.dataset.arg] : null;
    const written = main.dataset.screen === name ? main.querySelector("input.words") : null;
    build(main, screen);
    if (written) main.querySelector("input.words").replaceWith(written); // what is written so far stays
    if (written && had === written) written.focus();
    main.dataset.screen = name;
    main.removeAttribute("aria-busy");
    shape = next;
    if (kept) [...main.querySelectorAll("button")].find((node) => node.dataset.act === kept[0] && node.dataset.arg === kept[1])?.focus();
  }
  for (const node of main.querySelectorAll("[data-live]")) {
    const text = live[node.dataset.live] ?? "";
    if (node.textContent !== text) node.textContent = text;
  }
  for (const node of main.querySelectorAll("[data-width]")) node.style.setProperty(`--${node.dataset.width}`, live[node.dataset.width] ?? "0%");
  if (shape === before) return;
  makeRoom(main);
  window.onresize = () => makeRoom(main);
}
