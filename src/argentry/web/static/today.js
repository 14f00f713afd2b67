// The first page: plans again in place, draws the moment on the band, keeps what it shows true.

const NOW = "Upright line: now, {clock}";
const QUIET_MS = 250; // a slider is pushed in many small steps
const WHOLE_MS = 900; // rest before the whole plan is asked for: another wish may follow
const LOOK_MS = 60000;
const SOON_MS = 3000;
const HOURS = 24 * 60;
const STEP = 15;

const form = document.getElementById("wishes");
const plan = document.getElementById("plan");
const said = document.getElementById("said");
let asking = null;
let due = 0;

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const minutesOf = (clock) => 60 * Number(clock.slice(0, 2)) + Number(clock.slice(3));
const clockOf = (minutes) =>
  `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;

/** What the form asks of the day; the day itself only when it was chosen. */
function question() {
  const asked = new URLSearchParams();
  for (const [name, value] of new FormData(form)) {
    const chosen = name !== "date" || value !== form.date.defaultValue || wasChosen;
    if (value.trim() && name !== "from" && name !== "title" && chosen) asked.append(name, value);
  }
  return asked;
}
const wasChosen = new URLSearchParams(location.search).has("date");

// The word by which a form is noted once is another for each showing: it makes nothing new.
const bare = (html) => html.replace(/(name="once" value=")[^"]*/g, "$1").trim();
// What each part was when it came, before words were marked and moments drawn in it.
const came = new Map(["book", "plan", "order", "days"].map((id) => [id, bare(document.getElementById(id).innerHTML)]));

/** Put new content in place unless it is the same; what was opened stays open, and the focus where it was. */
function put(place, html) {
  const fresh = place.cloneNode();
  fresh.innerHTML = html.trim();
  if (bare(fresh.innerHTML) === came.get(place.id)) return;
  came.set(place.id, bare(fresh.innerHTML));
  const about = (one) => one.querySelector("summary").textContent.replace(/\d+/, ""); // "5 more notes" are those of before
  const opened = new Map([...place.querySelectorAll("details")].map((one) => [about(one), one.open]));
  const note = place.querySelector("[popover]:popover-open")?.id;
  const held = place.contains(document.activeElement) ? named(document.activeElement) : null;
  place.replaceChildren(...fresh.childNodes);
  for (const one of place.querySelectorAll("details")) one.open = opened.get(about(one)) ?? one.open;
  if (note) document.getElementById(note)?.showPopover();
  // words of the trade are buttons only once they are marked again
  if (held) queueMicrotask(() => [...place.querySelectorAll("a, button, summary, [tabindex]")].find((one) => named(one) === held)?.focus());
}
const named = (node) => `${node.tagName} ${node.getAttribute("popovertarget") ?? node.textContent}`;

/** Fetch a part of the page; the sentence of a refusal is thrown. */
async function part(address, signal) {
  const answer = await fetch(address, { signal, headers: { Accept: "text/html" } });
  const html = await answer.text();
  if (answer.ok && !answer.redirected) return html;
  const page = new DOMParser().parseFromString(html, "text/html");
  throw new Error(page.querySelector("[role=alert]")?.textContent ?? "The page must be shown again.");
}

const state = () => plan.querySelector("[data-state]")?.dataset.state;

/** Show why nothing was planned; the plan before it stays. */
function refused(sentence) {
  plan.querySelector(".refused")?.remove();
  const line = document.createElement("p");
  line.className = "problem refused";
  line.setAttribute("role", "alert");
  line.textContent = sentence;
  plan.prepend(line);
}

/** Ask for a first plan and, when no other wish follows, for the whole one. */
async function replan(first = true) {
  asking?.abort();
  const mine = (asking = new AbortController());
  const asked = new URLSearchParams(settled); // a wish that is still being typed is not asked
  plan.setAttribute("aria-busy", "true");
  try {
    if (first) {
      await pause(QUIET_MS);
      if (mine.signal.aborted) return;
      const early = new URLSearchParams(asked);
      early.append("first", "1");
      show(await part(`/today/plan?${early}`, mine.signal));
      if (state() !== "whole") await pause(WHOLE_MS);
    }
    if (!mine.signal.aborted && (!first || state() !== "whole")) {
      show(await part(`/today/plan?${asked}`, mine.signal));
    }
  } catch (error) {
    if (mine.signal.aborted) return;
    refused(error.message);
  } finally {
    if (asking === mine) plan.removeAttribute("aria-busy");
  }
}

const HELD = "Outlines: the plan before.";
const BACK = "Go back to it";
let ghost = null; // the plan that a wish put aside: what was asked of it, and its band

/** Keep the plan that stands, before a wish puts another in its place. */
function keepGhost() {
  const figure = plan.querySelector("figure.band");
  if (ghost || !figure || state() !== "whole") return;
  ghost = { asked: settled, day: shown().day, band: figure.cloneNode(true) };
}

/** Draw the rows of the plan before as outlines over those of the new one, hour upon hour. */
function drawGhost() {
  plan.querySelectorAll(".ghost, .before").forEach((one) => one.remove());
  const figure = plan.querySelector("figure.band");
  if (!ghost || !figure) return;
  const older = ghost.band.querySelectorAll("svg");
  figure.querySelectorAll("svg").forEach((svg, at) => {
    const [here, there] = [svg, older[at]].map((one) => one?.querySelector(".axis")?.dataset);
    const rows = older[at]?.querySelector(".bars")?.cloneNode(true);
    const place = svg.querySelector(".bars");
    if (!here || !there || !rows || !place) return;
    const wide = (axis) => Number(axis.width) / Number(axis.minutes);
    const scale = wide(here) / wide(there);
    const ahead = (Date.parse(there.begin) - Date.parse(here.begin)) / 60000 * wide(here);
    for (const one of rows.querySelectorAll("line, path")) one.remove(); // bars alone
    rows.setAttribute("class", "ghost");
    const moved = svg.createSVGMatrix().translate(ahead, 0).scaleNonUniform(scale, 1);
    rows.transform.baseVal.initialize(svg.createSVGTransformFromMatrix(moved));
    place.append(rows);
  });
  const line = document.createElement("p");
  line.className = "before";
  line.append(`${HELD} `);
  const back = document.createElement("button");
  back.className = "quiet";
  back.type = "button";
  back.textContent = BACK;
  back.addEventListener("click", () => { fill(new URLSearchParams(ghost.asked)); changed(); });
  line.append(back);
  figure.after(line);
}

/** Put what was asked before back into the form. */
function fill(asked) {
  for (const field of form.elements) {
    if (!field.name || ["from", "date", "title", "own_labels"].includes(field.name)) continue;
    field.value = asked.get(field.name) ?? "";
  }
}

function show(html) {
  const before = plan.querySelector("[data-state]")?.dataset.plates;
  const parts = new DOMParser().parseFromString(html, "text/html").querySelectorAll("[data-put]");
  plan.querySelector(".refused")?.remove();
  for (const one of parts) put(document.getElementById(one.dataset.put), one.innerHTML);
  plan.dataset.now = parts[0].dataset.now;
  seen = performance.now();
  const day = plan.querySelector("[data-state]");
  if (day.dataset.plates === undefined && before === undefined) return;
  said.textContent = plan.querySelector("#day-head").textContent;
  if (ghost?.asked === settled || ghost?.day !== shown().day) ghost = null;
  drawGhost();
  settle();
  drawNow();
}

let seen = performance.now();

/** The studio's time now: the server's when it answered, and what has passed since. */
function now() {
  return new Date(Date.parse(plan.dataset.now) + performance.now() - seen);
}

/** Draw the moment as an upright line on each band, of the plan and of runs that go on. */
function drawNow() {
  for (const figure of document.querySelectorAll("figure.band")) drawNowOn(figure, now());
}

/** Draw the moment on each width of one band, and say it below. */
function drawNowOn(figure, at) {
  let on = false;
  for (const axis of figure.querySelectorAll(".axis")) {
    const { begin, minutes, left, width, high } = axis.dataset;
    const share = (at - Date.parse(begin)) / 60000 / Number(minutes);
    axis.replaceChildren();
    if (share < 0 || share > 1) continue;
    on = true;
    const x = Number(left) + share * Number(width);
    const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
    for (const [key, value] of Object.entries({ x1: x, x2: x, y1: 0, y2: high, class: "now" })) {
      line.setAttribute(key, value);
    }
    axis.append(line);
  }
  let words = figure.querySelector("figcaption");
  if (!words) figure.append((words = document.createElement("figcaption")));
  const clock = new Intl.DateTimeFormat("en-GB", {
    hour: "2-digit", minute: "2-digit", timeZone: plan.querySelector("[data-zone]").dataset.zone,
  }).format(at);
  words.textContent = on ? NOW.replace("{clock}", clock) : "";
}

/** A slider beside a field: the same value, to be pushed by a finger. */
function slider(field, name, low, high, step, read, write) {
  const range = document.createElement("input");
  Object.assign(range, { type: "range", min: low, max: high, step });
  range.setAttribute("aria-label", name);
  const told = () => range.setAttribute("aria-valuetext", write(Number(range.value)));
  range.addEventListener("input", () => { field.value = write(Number(range.value)); told(); });
  field.after(range);
  return () => { const value = read(); if (Number.isFinite(value)) { range.value = value; told(); } };
}

const shown = () => plan.querySelector("[data-state]")?.dataset ?? {};
const settles = [
  slider(form.count, "Plates, by a slider", 1, 12, 1, () => Number(form.count.value || shown().plates), String),
  slider(form.start, "Hands come at, by a slider", 4 * 60, HOURS - 4 * 60, STEP,
    () => minutesOf(form.start.value || form.start.dataset.usual), clockOf),
];
function settle() { for (const one of settles) one(); }

/** Fetch what the book knows and the days ahead; soon again while days are being worked out. */
async function refresh() {
  clearTimeout(due);
  if (document.hidden) return;
  for (const name of ["book", "days"]) {
    const place = document.getElementById(name);
    try {
      const html = await part(place.dataset.part);
      put(place, html);
    } catch { /* the server is away: what is shown stays, and is asked for again */ }
  }
  if (!plan.hasAttribute("aria-busy")) replan(false);
  const left = Number(document.querySelector("#days [data-left]")?.dataset.left ?? 0);
  due = setTimeout(refresh, left ? SOON_MS : LOOK_MS);
}

form.addEventListener("submit", (event) => {
  if (!event.submitter?.classList.contains("plan")) return;
  event.preventDefault();
  changed();
});
form.addEventListener("change", (event) => {
  if (!["own_labels", "title"].includes(event.target.name)) changed();
});

let settled = question().toString();
function changed() {
  const asked = question().toString();
  if (asked !== settled) keepGhost();
  settled = asked;
  history.replaceState(null, "", asked ? `/?${asked}` : "/");
  settle();
  replan();
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) return;
  refresh();
});
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
setInterval(drawNow, 15000);
settle();
drawNow();
if (state() !== "whole") replan(state() === "wanted");
due = setTimeout(refresh, SOON_MS);
