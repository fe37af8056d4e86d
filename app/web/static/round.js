/* Strikewell, the round: one batch at a time, entries through the outbox, nothing that needs the
   network in between. Without this every batch of the round stands below the other and posts by itself. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const made = (tag, attributes, ...inside) => {
    const element = Object.assign(document.createElement(tag), attributes);
    element.append(...inside);
    return element;
  };
  const unseen = (text) => made("span", { className: "unseen" }, text);
  const told = document.querySelector("[data-round-told]");

  /* Causes are asked for once something was lost. */
  for (const causes of document.querySelectorAll("[data-causes]")) {
    const input = causes.closest("form").elements.namedItem(causes.dataset.causes.replace("cause", "number"));
    const look = () => { causes.hidden = ["", "0"].includes(input.value.trim()); };
    input.form.addEventListener("input", look);
    input.form.addEventListener("change", look);
    input.form.addEventListener("reset", () => { setTimeout(look, 0); });
    look();
  }

  const round = document.querySelector("[data-round]");
  if (!round || !outbox.person()) return;
  const KEPT = `strikewell:round:${outbox.person()}:${round.dataset.round}`;
  const sections = new Map([...round.querySelectorAll("[data-round-batch]")].map((one) => [one.dataset.roundBatch, one]));
  const end = round.querySelector("[data-round-end]");
  const codes = [...sections.keys()];
  const formOf = (code) => sections.get(code).querySelector("form");
  const codeOf = (entry) => (/\/batches\/([^/]+)\/checks\/new/.exec(entry.address) || [])[1];
  const saved = new Set(), skipped = new Set(), answers = new Map();
  let queue = codes.slice(), at = null, last = null;

  const asked = new URLSearchParams(location.search).get("first");
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEPT) || "null");
    if (kept && kept.day === new Date().toDateString()) {
      for (const code of kept.skipped) if (sections.has(code) && !asked) skipped.add(code);
      const later = kept.later.filter((code) => sections.has(code));
      queue = [...codes.filter((code) => !later.includes(code)), ...later].filter((code) => !skipped.has(code));
      if (asked) queue.sort((one, other) => (other === codes[0]) - (one === codes[0]));
    }
  } catch { /* not kept: the round begins in its own order */ }
  const later = new Set();
  const keepOrder = () => {
    try { sessionStorage.setItem(KEPT, JSON.stringify({ day: new Date().toDateString(), skipped: [...skipped], later: [...later] })); } catch { /* not kept */ }
  };

  const say = (words, ...buttons) => {
    told.replaceChildren(made("div", { className: "notice" }, made("p", {}, words), made("div", { className: "acts" }, ...buttons)));
  };

  function show(code, focus = true) {
    at = code;
    for (const [each, section] of sections) section.hidden = each !== code;
    end.hidden = code !== null;
    const section = code === null ? end : sections.get(code);
    if (code === null) sum();
    else {
      const place = section.querySelector("[data-round-place]");
      place.textContent = place.textContent.replace(/^\d+ of \d+/, `${codes.length - queue.length + 1} of ${codes.length}`);
      section.querySelector("[data-round-back]").disabled = false;
    }
    if (!focus) return;
    section.querySelector("h2").focus({ preventScroll: true });
    (told.firstChild ? told : section).scrollIntoView({ block: "start" });
  }

  const next = () => show(queue.length ? queue[0] : null);

  function sum() {
    const words = [`${saved.size} checked`];
    if (skipped.size) words.push(`${skipped.size} skipped: ${[...skipped].join(", ")}`);
    end.querySelector("[data-round-sum]").textContent = `${words.join("; ")}.`;
    end.querySelector("[data-round-again]").hidden = !skipped.size;
  }

  function done(code) {
    queue = queue.filter((each) => each !== code);
    saved.add(code);
    skipped.delete(code);
    later.delete(code);
    keepOrder();
  }

  function comesBack(code, first) {
    saved.delete(code);
    queue = queue.filter((each) => each !== code);
    queue.splice(first ? 0 : 1, 0, code);
  }

  /* What is plainly missing is said at once; all else is judged by the log, later if need be. */
  function missing(form, button) {
    const field = (name) => form.elements.namedItem(name), typed = (name) => field(name).value.trim();
    const looked = button && button.name === "only_looked", numbers = ["rooted", "lost-0-number", "lost-1-number"].filter(typed);
    if (looked) return numbers.length ? "Save the count, or clear the numbers to log only a look." : "";
    if (!typed("rooted")) return "Type how many have rooted, 0 if none; or press All well, only looked.";
    for (const place of ["lost-0", "lost-1"]) {
      if (Number(typed(`${place}-number`)) && !typed(`${place}-cause`)) return "Choose what they were lost to; not known is in the list.";
    }
    const fits = form.querySelector('[data-sum-of="left"]').textContent !== "?";
    return fits || !numbers.every((name) => /^\d+$/.test(typed(name))) ? "" : "These numbers do not fit what was unrooted before. Look once more, then save.";
  }
  round.addEventListener("submit", (event) => {
    const code = event.target.closest("[data-round-batch]").dataset.roundBatch, wrong = missing(event.target, event.submitter);
    outboxForms.hideWrong(event.target, wrongOf(code));
    if (!wrong) return;
    event.preventDefault();
    event.stopPropagation();
    outboxForms.showWrong(event.target, wrongOf(code), [wrong]);
  });

  const wrongOf = (code) => sections.get(code).querySelector("[data-round-wrong]");

  /* What was refused comes back with its numbers, the reason above them, under its old key. */
  function refusedAt(code, entry) {
    const form = formOf(code);
    for (const [name, value] of entry.fields) {
      const field = form.elements.namedItem(name);
      if (!field) continue;
      field.value = value;
    }
    wrongOf(code).replaceChildren(made("div", { className: "summary" }, made("h3", {}, "Please look at this again"),
      made("ul", {}, ...entry.refused.lines.map((line) => made("li", {}, line)))));
    form.dispatchEvent(new Event("change", { bubbles: true }));
    if (at === null) { comesBack(code, true); next(); } else if (at !== code) comesBack(code, false);
    say(`${code} was refused${at === code ? "" : " and comes next"}: ${entry.refused.lines[0]}`);
  }

  /* Undone: withdrawn if it had arrived, forgotten if not. Its numbers are still in its form. */
  async function undoLast() {
    const { code, entry } = last;
    last = null;
    const answer = answers.get(entry.key);
    if (answer && answer.undo) await outbox.undo(entry, answer.undo); else await outbox.takeBack(entry);
    formOf(code).elements.namedItem("post_key").value = outbox.newKey();
    comesBack(code, true);
    say(`${code} is undone. Put it right and save it again.`);
    next();
  }

  document.addEventListener("outbox:kept", (event) => {
    const section = event.target.closest("[data-round-batch]");
    if (!section) return;
    const code = section.dataset.roundBatch, entry = event.detail.entry;
    last = { code, entry };
    wrongOf(code).replaceChildren();
    done(code);
    say(`${code} is noted: ${entry.said || "looked at"}.`, made("button", { type: "button", className: "second", onclick: undoLast }, "Undo", unseen(` ${code}`)));
    next();
  });
  document.addEventListener("outbox:saved", (event) => { answers.set(event.detail.entry.key, event.detail.answer); });
  document.addEventListener("outbox:refused", (event) => {
    const code = codeOf(event.detail.entry);
    if (sections.has(code)) refusedAt(code, event.detail.entry);
  });

  round.addEventListener("click", (event) => {
    const pressed = event.target.closest("button");
    if (!pressed) return;
    if ("roundSkip" in pressed.dataset) { queue = queue.filter((code) => code !== at); skipped.add(at); keepOrder(); say(`${at} is skipped.`); next(); }
    if ("roundLater" in pressed.dataset) { later.add(at); queue = [...queue.filter((code) => code !== at), at]; keepOrder(); say(`${at} comes again at the end.`); next(); }
    if ("roundBack" in pressed.dataset) before();
    if ("roundAgain" in pressed.dataset) { queue = codes.filter((code) => skipped.has(code)); skipped.clear(); keepOrder(); told.replaceChildren(); next(); }
  });

  /* The one that stands before this, checked or not: for a second count, or one that was skipped. */
  function before() {
    const code = codes[codes.indexOf(at) - 1];
    if (!code) { say("This is the first one."); return; }
    if (saved.has(code)) { say(`${code} is noted already. Undo it while it is the last one, or correct it on its page.`); return; }
    skipped.delete(code);
    comesBack(code, true);
    keepOrder();
    next();
  }

  /* By its code: at once where it stands on this page; else only once the network is known to be there,
     since a page that could not be loaded would take this one away. */
  document.querySelector(".round-other").addEventListener("submit", async (event) => {
    event.preventDefault();
    const form = event.target, typed = form.elements.namedItem("first").value.trim();
    const found = (/(\d\d)-?0*(\d+)\/?$/.exec(typed) || []).slice(1);
    const code = codes.find((each) => found.length && each.startsWith(`${found[0]}-`) && Number(each.slice(3)) === Number(found[1]));
    if (code && !saved.has(code)) {
      skipped.delete(code);
      comesBack(code, true);
      form.reset();
      told.replaceChildren();
      next();
      return;
    }
    if (code) { say(`${code} is noted already in this round.`); return; }
    try {
      await fetch(location.pathname, { method: "HEAD", cache: "no-store" });
      form.submit();
    } catch { say(`No network now: ${typed} is not on this page and cannot be looked up. Count it once the network is back.`); }
  });

  /* What waits from before the page was opened again is not asked for twice. */
  for (const ways of round.querySelectorAll("[data-round-ways]")) ways.hidden = false;
  show(queue.length ? queue[0] : null, false);
  (async () => {
    const waiting = await outbox.all().catch(() => []);
    for (const entry of waiting.filter((one) => one.person === outbox.person() && !one.aside && sections.has(codeOf(one)))) {
      const code = codeOf(entry);
      if (!entry.refused) done(code);
      else {
        formOf(code).elements.namedItem("post_key").value = entry.key;
        refusedAt(code, entry);
      }
    }
    if (!queue.includes(at)) show(queue.length ? queue[0] : null, false);
  })();
});
