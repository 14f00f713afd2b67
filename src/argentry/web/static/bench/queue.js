// What is not yet in the book: kept in IndexedDB until the server has said that it is stored.
// Each event carries its own id, so sending it twice, from two pages or after a cut, is harmless.

import { BENCH } from "./say.js";

const NAME = "argentry-bench";
const BATCH = 40;
const WAITS_MS = [500, 1000, 2000, 4000, 8000];

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function openStore() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("queue", { keyPath: "id" });
    request.result.createObjectStore("runs", { keyPath: "run" });
  };
  return asked(request);
}

/** The shelf: a small store that falls back to memory where the browser keeps nothing. */
export async function openShelf() {
  let database = null;
  try {
    database = await openStore();
  } catch {
    database = null;
  }
  const memory = { queue: new Map(), runs: new Map() };
  const key = { queue: "id", runs: "run" };
  const settled = (change) =>
    new Promise((resolve, reject) => {
      change.oncomplete = resolve;
      change.onerror = () => reject(change.error);
      change.onabort = () => reject(change.error);
    });
  return {
    lasting: database !== null,
    async put(store, value) {
      if (!database) return void memory[store].set(value[key[store]], value);
      const change = database.transaction(store, "readwrite", { durability: "strict" });
      change.objectStore(store).put(value);
      await settled(change);
    },
    async drop(store, ids) {
      if (!database) return void ids.forEach((id) => memory[store].delete(id));
      const change = database.transaction(store, "readwrite");
      ids.forEach((id) => change.objectStore(store).delete(id));
      await settled(change);
    },
    async all(store) {
      if (!database) return [...memory[store].values()];
      return asked(database.transaction(store).objectStore(store).getAll());
    },
    async get(store, id) {
      if (!database) return memory[store].get(id);
      return asked(database.transaction(store).objectStore(store).get(id));
    },
  };
}

/**
 * The queue of one run.
 *
 * onStored(record, {seq, at}), onRefused(record) and onLink("open" | "cut" | "shut") are told
 * what became of it; "shut" means that the server wants this device paired again.
 */
export function makeQueue({ run, shelf, clock, onStored, onRefused, onLink, ask = (...all) => fetch(...all) }) {
  const waiting = new Map();
  const refused = new Map(); // what the server would not take, with its sentence; never thrown away unasked
  let alone = false; // send one by one, to find the one a batch was turned down for
  let order = 0;
  let busy = false;
  let tries = 0;
  let timer = null;
  let lastStored = null; // of the last one acknowledged: its server time, the server's time then, ours

  async function load() {
    const kept = (await shelf.all("queue")).filter((record) => record.run === run);
    kept.sort((a, b) => a.order - b.order || (a.id < b.id ? -1 : 1));
    for (const record of kept) {
      (record.why ? refused : waiting).set(record.id, record);
      order = Math.max(order, record.order);
    }
  }

  async function add(event, lateS = 0) {
    order += 1;
    const record = { ...event, run, order, late: lateS > 0, made: clock.moment(lateS) };
    waiting.set(record.id, record);
    try {
      await shelf.put("queue", record);
    } catch {
      // It stays in memory and is sent from there; losing the page is then losing the event.
    }
    send();
    return record;
  }

  function age(record, now) {
    const seconds = clock.age(record.made, now);
    if (record.late || !lastStored) return seconds;
    // Never before what was already acknowledged: a slow first message must not fall behind the one
    // after it. The server's clock is now at least what it was then and what has passed since.
    const atLeast = lastStored.server + (now.steady - lastStored.steady);
    return Math.max(0, Math.min(seconds, (atLeast - lastStored.at - 2) / 1000));
  }

  function noteStored(at, ageS) {
    if (lastStored && at < lastStored.at) return;
    lastStored = { at, server: at + 1000 * ageS, steady: clock.steady() };
  }

  function outgoing(record, now) {
    const { id, kind, plate, step, body } = record;
    return { id, kind, plate: plate ?? null, step: step ?? null, body: body ?? {}, age_s: age(record, now) };
  }

  function again() {
    clearTimeout(timer);
    timer = setTimeout(send, WAITS_MS[Math.min(tries, WAITS_MS.length - 1)]);
    tries += 1;
  }

  async function forget(ids) {
    ids.forEach((id) => {
      waiting.delete(id);
      refused.delete(id);
    });
    try {
      await shelf.drop("queue", ids);
    } catch {
      // It will be sent once more after a reload, which is harmless.
    }
  }

  async function settle(batch, answer, sent) {
    const stored = new Map((answer.stored ?? []).map((one) => [one.id, one]));
    const turned = new Map((answer.refused ?? []).map((one) => [one.id, one.why]));
    for (const record of batch) {
      if (stored.has(record.id)) {
        const one = stored.get(record.id);
        if (!record.late && !one.duplicate) noteStored(Date.parse(one.at), sent.get(record.id).age_s);
        onStored(record, one);
      } else if (turned.has(record.id)) await setAside(record, turned.get(record.id));
    }
    await forget(batch.filter((record) => stored.has(record.id)).map((record) => record.id));
    return batch.some((record) => stored.has(record.id) || turned.has(record.id));
  }

  async function send() {
    if (busy || waiting.size === 0) return;
    busy = true;
    clearTimeout(timer);
    const batch = [...waiting.values()].sort((a, b) => a.order - b.order).slice(0, alone ? 1 : BATCH);
    const stop = new AbortController();
    const giveUp = setTimeout(() => stop.abort(), 8000);
    let more = false;
    // All by one moment: were the page held up between two of them, the later one would seem the older.
    const now = clock.moment();
    const sent = new Map(batch.map((record) => [record.id, outgoing(record, now)]));
    try {
      const answer = await ask(`/api/runs/${encodeURIComponent(run)}/events`, {
        method: "POST",
        credentials: "same-origin",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ events: [...sent.values()] }),
        signal: stop.signal,
      });
      if (answer.status === 401 || answer.status === 403) {
        onLink("shut");
        again();
      } else if (answer.ok) {
        onLink("open");
        more = await settle(batch, await answer.json(), sent);
        if (waiting.size === 0) alone = false;
        if (more) tries = 0;
        else again();
      } else if (answer.status >= 400 && answer.status < 500 && answer.status !== 408 && answer.status !== 429) {
        const told = await answer.json().catch(() => ({}));
        onLink("open");
        if (told.refused?.length) more = await settle(batch, told, sent);
        else more = await turnedDown(batch, told.error ?? BENCH.notTaken);
      } else {
        onLink("cut");
        again();
      }
    } catch {
      onLink("cut");
      again();
    } finally {
      clearTimeout(giveUp);
      busy = false;
    }
    if (more) send();
  }

  async function setAside(record, why) {
    const aside = { ...record, why };
    waiting.delete(record.id);
    refused.set(record.id, aside);
    try {
      await shelf.put("queue", aside);
    } catch {
      // It stays in memory.
    }
    onRefused(aside);
  }

  /** The batch as a whole was turned down: go one by one, and set aside the one it was for. */
  async function turnedDown(batch, why) {
    if (batch.length > 1) alone = true;
    else await setAside(batch[0], why);
    return true;
  }

  /** Offer again what was turned down. */
  async function offerAgain() {
    for (const { why, ...record } of [...refused.values()]) {
      refused.delete(record.id);
      waiting.set(record.id, record);
      await shelf.put("queue", record).catch(() => {});
    }
    send();
  }

  return { load, add, send, waiting, refused, forget, offerAgain };
}
