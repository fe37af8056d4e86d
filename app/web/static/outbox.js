/* Strikewell, the outbox: an entry is kept on this device before it is sent, and forgotten only once
   the log says that it is saved. outbox_forms.js fills it. The document hears outbox:saved,
   outbox:refused and outbox:changed. An entry: key (it counts once), person, address, fields, words
   (what it is about), said (what was typed), recorded (ms), tried, refused, aside.
   Works over plain http: no service worker, nothing that wants a secure page. */
"use strict";

const outbox = (() => {
  const ANSWER_MS = 15000, SHOWN_MS = 8000, AGAIN_MS = 10000, TOKENS = 3, FAULTS = 3, ASIDE_MS = 30 * 86400e3;
  const root = document.documentElement;
  let opened = null, running = null, rerun = false, trouble = "", token = "", opens = "";

  const person = () => (document.body && document.body.dataset.person) || "";
  const plural = (number, one, many) => `${number.toLocaleString("en-GB")} ${number === 1 ? one : many}`;
  const newKey = () => btoa(String.fromCharCode(...crypto.getRandomValues(new Uint8Array(18))))
    .replaceAll("+", "-").replaceAll("/", "_");

  function store() {
    opened = opened || new Promise((done, failed) => {
      const asked = indexedDB.open("strikewell", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "number", autoIncrement: true })
        .createIndex("key", "key", { unique: true });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    return opened;
  }

  /* One transaction; what `work` leaves in `out.value` is the answer, once it is on the disk. */
  async function within(mode, work) {
    const disk = await store();
    return new Promise((done, failed) => {
      const change = disk.transaction("entries", mode, { durability: "strict" });
      const out = { value: undefined };
      work(change.objectStore("entries"), out);
      change.oncomplete = () => done(out.value);
      change.onabort = () => failed(change.error);
    });
  }

  const all = () => within("readonly", (entries, out) => {
    entries.getAll().onsuccess = (event) => { out.value = event.target.result; };
  });

  /* Changes an entry as it stands on the disk now: `change` returns what is to stand there, or null to
     forget it. Another tab may have been faster; what it put in its place is not touched. */
  const edit = ({ number, key }, change) => within("readwrite", (entries, out) => {
    entries.get(number).onsuccess = (event) => {
      const entry = event.target.result;
      if (!entry || entry.key !== key) return;
      out.value = change(entry);
      if (out.value) entries.put(out.value); else entries.delete(number);
    };
  });

  /* An entry of the same key, mended, takes the place of the one refused. */
  async function keep(entry) {
    const whole = { person: person(), recorded: Date.now(), tried: 0, faults: 0, page: location.pathname + location.search, ...entry };
    const kept = await within("readwrite", (entries, out) => {
      entries.index("key").get(whole.key).onsuccess = (event) => {
        const before = event.target.result;
        if (before) Object.assign(whole, { number: before.number, recorded: before.recorded, tried: before.tried });
        entries.put(whole).onsuccess = (put) => { out.value = { ...whole, number: put.target.result }; };
      };
    });
    await show();
    return kept;
  }

  /* What is sent: fields, with a token that holds now; whose it is and how long it has waited. */
  async function post(entry, then) {
    const body = new URLSearchParams(entry.fields);
    body.set("csrf_token", token || (document.querySelector("[name=csrf_token]") || {}).value || "");
    const headers = {
      Accept: "application/json", "Strikewell-Person": entry.person,
      "Strikewell-Waited": String(Math.round((Date.now() - entry.recorded) / 1000)),
    };
    if (entry.mark && entry.failed) headers["Strikewell-Mark"] = entry.mark;
    if (then) headers["Strikewell-Then"] = then;
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), ANSWER_MS);
    try {
      const answer = await fetch(entry.address, { method: "POST", body, headers, signal: stop.signal, redirect: "manual" });
      return await answer.json();
    } catch {
      return { outcome: "no network" };
    } finally { clearTimeout(timer); }
  }

  const freshToken = (fresh) => {
    token = fresh;
    for (const input of document.querySelectorAll("[name=csrf_token]")) input.value = fresh;
  };

  /* Sends one entry and returns whether the next may follow. */
  async function sendOne(waiting, then) {
    const entry = await edit(waiting, (now) => ({ ...now, tried: now.tried + 1 }));
    if (!entry) return true;
    let answer = await post(entry, then);
    for (let times = 1; answer.outcome === "send again" && times < TOKENS; times++) {
      freshToken(answer.token);
      answer = await post(entry, then);
    }
    const broke = answer.outcome === "trouble" && entry.faults + 1 >= FAULTS;
    if (answer.outcome === "saved") await saved(entry, answer);
    else if (answer.outcome === "refused" || broke) await refused(entry, answer);
    else {
      trouble = answer.outcome;
      await edit(entry, (now) => ({ ...now, faults: now.faults + (answer.outcome === "trouble" ? 1 : 0) }));
      return false;
    }
    trouble = "";
    await show();
    return true;
  }

  /* Taken back while it was on its way: now that it is known to be saved, the undo follows it. */
  async function saved(entry, answer) {
    const left = await edit(entry, (now) => now.takenBack && answer.undo
      ? { ...undoOf(now, answer.undo), number: now.number } : null);
    tell("outbox:saved", { entry, answer, undoing: Boolean(left) });
  }

  async function refused(entry, answer) {
    const lines = answer.sentences && answer.sentences.length ? answer.sentences : ["This could not be taken as it is."];
    const refusal = { lines, targets: answer.targets || [], at: Date.now() };
    const left = await edit(entry, (now) => now.takenBack ? null : { ...now, refused: refusal });
    if (left) tell("outbox:refused", { entry: left, lines });
  }

  const undoOf = (entry, address) => {
    const key = newKey();
    return { person: entry.person, address, key, fields: [["post_key", key]], words: `Undo: ${entry.words}`, said: "", page: entry.page, recorded: Date.now(), tried: 0, faults: 0 };
  };
  const tell = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));
  const isWaiting = (entry) => !entry.refused && !entry.aside;

  /* In the order they were recorded, and only those of the person whose page this is. */
  async function run() {
    for (;;) {
      const next = (await all()).find((entry) => isWaiting(entry) && entry.person === person());
      if (!next || !person()) return;
      if (!await sendOne(next, next.key === opens ? "open" : "")) { await heldUp(); return; }
    }
  }

  /* One that cannot be sent holds up all behind it; from now on their marks, if any, may stand on labels. */
  const heldUp = () => within("readwrite", (entries) => {
    entries.getAll().onsuccess = (event) => {
      for (const entry of event.target.result) {
        if (isWaiting(entry) && entry.person === person() && !entry.failed) entries.put({ ...entry, failed: true });
      }
    };
  });

  /* `opening`: the key of an entry whose page goes on to where it leads, and says there what was saved. */
  async function send(opening) {
    opens = opening || opens;
    if (running) { rerun = true; return running; }
    running = (async () => {
      do { rerun = false; await run(); } while (rerun);
    })().catch(() => {}).finally(async () => { running = null; await show().catch(() => {}); });
    return running;
  }

  /* The line that always says it, wherever the page has one. */
  function words(mine, others) {
    const waiting = mine.filter(isWaiting).length, wrong = mine.filter((entry) => entry.refused && !entry.aside).length;
    const said = [];
    if (root.dataset.typed === "open") said.push("Not saved yet.");
    if (waiting) {
      said.push(`${waiting.toLocaleString("en-GB")} waiting on this device.`);
      if (trouble === "sign in") said.push("Sign in again to send what waits.");
      else if (trouble === "no network") said.push("No network now; sent by itself once it is back.");
    }
    if (wrong) said.push(`${plural(wrong, "was", "were")} refused and kept.`);
    if (others.length) said.push(`${plural(others.length, "entry", "entries")} of somebody else ${others.length === 1 ? "waits" : "wait"} here.`);
    return { text: said.join(" ") || "All entries saved.", list: Boolean(waiting || wrong || others.length) };
  }

  async function show() {
    const entries = await all().catch(() => []);
    const mine = entries.filter((entry) => entry.person === person());
    const others = entries.filter((entry) => entry.person !== person() && isWaiting(entry));
    const said = words(mine, others);
    for (const line of document.querySelectorAll("#saved, [data-saved-line]")) {
      const link = line.nextElementSibling && line.nextElementSibling.matches("[data-waiting-link]") ? line.nextElementSibling : null;
      if (line.textContent !== said.text) line.textContent = said.text;
      if (link) link.hidden = !said.list;
    }
    tell("outbox:changed", { entries });
  }

  /* For ever only if nobody can have it yet; else it is undone as soon as it is known to be saved. */
  const takeBack = async (wanted) => {
    await edit(wanted, (entry) => entry.tried ? { ...entry, takenBack: true, refused: null } : null);
    await show();
    send();
  };
  const putAside = async (wanted, aside) => {
    await edit(wanted, (entry) => ({ ...entry, aside: aside ? Date.now() : 0 }));
    await show();
  };
  const undo = async (entry, address) => { await keep(undoOf(entry, address)); send(); };

  const forgetOld = () => within("readwrite", (entries) => {
    entries.getAll().onsuccess = (event) => {
      for (const entry of event.target.result) if (entry.aside && Date.now() - entry.aside > ASIDE_MS) entries.delete(entry.number);
    };
  });

  document.addEventListener("strikewell:typed", () => { show(); });
  document.addEventListener("DOMContentLoaded", async () => {
    if (!person()) return;
    await forgetOld().catch(() => {});
    await show();
    send();
  });
  for (const sign of ["online", "focus", "pageshow"]) addEventListener(sign, () => { if (person()) send(); });
  setInterval(() => { if (person() && !document.hidden) send(); }, AGAIN_MS);

  return { all, keep, send, takeBack, putAside, undo, newKey, isWaiting, person, token: () => token };
})();
