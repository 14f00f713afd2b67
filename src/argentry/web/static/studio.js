// The studio file is checked while it is typed; the sentences are those of the command.

const QUIET_MS = 500;
const text = document.getElementById("text");
const mistakes = document.getElementById("mistakes");
let due = 0;
let asking = null;

async function check() {
  asking?.abort();
  const mine = (asking = new AbortController());
  try {
    const body = new URLSearchParams({ text: text.value });
    const answer = await fetch(text.dataset.check, { method: "POST", body, signal: mine.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const found = answer.ok ? page.body : page.querySelector("[role=alert]");
    if (found) mistakes.replaceChildren(...found.childNodes);
    text.setAttribute("aria-invalid", String(Boolean(mistakes.querySelector(".problem"))));
  } catch { /* the server is away: what was found stays */ }
}

text.addEventListener("input", () => {
  clearTimeout(due);
  due = setTimeout(check, QUIET_MS);
});
