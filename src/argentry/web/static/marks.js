// Taps on a picture fill the places a form asks for; without this script they are typed in.

const picture = document.getElementById("to-mark");
const next = document.getElementById("mark-next");
// what is tapped in turn: the field it goes to, and what is said
const PLACES = (picture?.dataset.places ?? "").split(" | ").map((one) => one.split(/: (.*)/s));
const NAMES = [...new Set(PLACES.map(([name]) => name))];
let marks = [];

/** Two opposite corners as left, top, width, height; one alone as it is. */
const box = ([first, other]) => {
  if (!other) return first;
  const low = first.map((at, axis) => Math.min(at, other[axis]));
  return [...low, ...first.map((at, axis) => Math.abs(at - other[axis]))];
};

const draw = () => {
  picture.querySelectorAll("svg").forEach((one) => one.remove());
  const { width, height } = picture.dataset;
  const made = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  made.setAttribute("viewBox", `0 0 ${width} ${height}`);
  made.setAttribute("aria-hidden", "true");
  for (const [x, y] of marks) {
    for (const name of ["under", "over"]) {
      const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      ring.setAttribute("cx", x);
      ring.setAttribute("cy", y);
      ring.setAttribute("r", width / 80);
      ring.setAttribute("class", name);
      made.append(ring);
    }
  }
  picture.append(made);
  for (const name of NAMES) {
    const own = marks.filter((_, place) => PLACES[place][0] === name);
    // two places are one line
    const pairs = own.flatMap((_, k) => (k % 2 ? [] : [own.slice(k, k + 2)]));
    const lines = pairs.map((pair) => (name === picture.dataset.box ? box(pair) : pair.flat()).join(","));
    document.getElementById(name).value = lines.join(" ");
  }
  next.textContent = PLACES[marks.length]?.[1] ?? picture.dataset.done;
};

if (picture) {
  next.hidden = false;
  draw();
  picture.addEventListener("click", (event) => {
    const shown = picture.querySelector("img").getBoundingClientRect();
    const x = ((event.clientX - shown.left) / shown.width) * picture.dataset.width;
    const y = ((event.clientY - shown.top) / shown.height) * picture.dataset.height;
    if (marks.length >= PLACES.length) marks = [];
    marks.push([Math.round(x), Math.round(y)]);
    draw();
  });
}
