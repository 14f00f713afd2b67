// Words of the trade: the first of each on a page becomes a button that tells its meaning.

const OUT = "a,button,label,summary,option,select,textarea,svg,h1,h2,title,script,code,legend,input,[popover],.words,.material";
const notes = [...document.querySelectorAll("[popover][data-forms]")];
const of = new Map();
for (const note of notes) for (const form of note.dataset.forms.split("|")) of.set(form.toLowerCase(), note);
const escaped = (word) => word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&").replaceAll(" ", "\\s");
const longest = [...of.keys()].sort((a, b) => b.length - a.length).map(escaped);
const WORDS = new RegExp(`(?<![\\w-])(${longest.join("|")})(?![\\w-])`, "gi");

function button(words, note) {
  const one = document.createElement("button");
  Object.assign(one, { type: "button", className: "term", textContent: words, title: note.textContent });
  one.setAttribute("popovertarget", note.id);
  return one;
}

/** Keep a word together with the comma or the point that follows it. */
function kept(one, mark) {
  if (!mark) return one;
  const whole = document.createElement("span");
  whole.className = "kept";
  whole.append(one, mark);
  return whole;
}

/** Mark each word once in a part of the page. */
function mark(root) {
  const done = new Set([...document.querySelectorAll(".term")].map((one) => one.getAttribute("popovertarget")));
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  const texts = [];
  while (walker.nextNode()) if (!walker.currentNode.parentElement.closest(OUT)) texts.push(walker.currentNode);
  for (const text of texts) {
    const parts = [];
    let last = 0;
    for (const found of text.data.matchAll(WORDS)) {
      const note = of.get(found[1].toLowerCase().replace(/\s/g, " "));
      if (!note || done.has(note.id)) continue;
      done.add(note.id);
      const end = found.index + found[1].length;
      const [point] = text.data.slice(end).match(/^[.,;:)]*/);
      parts.push(text.data.slice(last, found.index), kept(button(found[1], note), point));
      last = end + point.length;
    }
    if (parts.length) text.replaceWith(...parts, text.data.slice(last));
  }
}

const main = document.getElementById("main");
mark(main);
new MutationObserver((changes) => {
  if (changes.some((one) => [...one.addedNodes].some((node) => node.nodeType === 1 && !node.matches(".term, .kept")))) mark(main);
}).observe(main, { childList: true, subtree: true });
