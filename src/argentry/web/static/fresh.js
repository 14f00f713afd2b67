// What is not kept, or is from before the latest change, appears in place once worked out.

const shown = document.querySelector("[data-old]");
if (shown) {
  for (const line of shown.querySelectorAll("[data-waits]")) line.textContent = line.dataset.waits;
  const asked = new URLSearchParams(location.search);
  asked.set("fresh", "1");
  const fresh = `${location.pathname}?${asked}`;
  try {
    const answer = await fetch(fresh, { headers: { Accept: "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const there = answer.ok && !answer.redirected && page.getElementById(shown.id);
    if (there) shown.replaceWith(there);
    else if (!shown.querySelector("figure")) location.replace(fresh); // it says why
  } catch { /* the server is away: what is shown stays */ }
}
