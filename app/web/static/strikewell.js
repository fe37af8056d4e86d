/* Strikewell. Everything here is an addition: each form writes its record without it.
   data-stepper           a count gets buttons for one less and one more
   data-suggest="/url"    an input is offered what the address answers to ?q= (a JSON list)
   data-sums              the sums of a check, live; see liveSums
   data-keep-as="26-0147" the name under which a form's typed text is kept, where its place may change
   data-keep="no"         a form whose typed text is not kept over a reload
   table.dense            arrow keys go up and down a column of inputs                        */
"use strict";

(() => {
  const root = document.documentElement;
  const LIGHT = "strikewell:sunlight";

  /* Storage may be closed to a page (private windows, full disks); then nothing is remembered. */
  const remembered = (store, key) => { try { return store.getItem(key); } catch { return null; } };
  const remember = (store, key, value) => {
    try { if (value === null) store.removeItem(key); else store.setItem(key, value); } catch { /* not kept */ }
  };
  const made = (tag, attributes, text) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    if (text) element.textContent = text;
    return element;
  };

  /* At once, before anything is drawn. */
  if (remembered(localStorage, LIGHT) === "on") root.classList.add("sunlight");

  function sunlightSwitch() {
    const foot = document.querySelector(".foot");
    if (!foot) return;
    const button = made("button", { type: "button", class: "plain" }, "High contrast and larger text, for sunlight");
    const show = () => button.setAttribute("aria-pressed", root.classList.contains("sunlight"));
    button.addEventListener("click", () => {
      remember(localStorage, LIGHT, root.classList.toggle("sunlight") ? "on" : null);
      show();
    });
    show();
    foot.append(button);
  }

  /* "96", "1,020", "2 x 84 - 3", "2 trays of 84 less 3"; null for what only the server can read. */
  function whole(text) {
    const plain = text.trim().replaceAll(",", "");
    const trays = /^(\d+) ?(?:[x*×]|trays? of) ?(\d+)(?: ?(?:-|less) ?(\d+))?$/i.exec(plain);
    if (trays) return trays[1] * trays[2] - (trays[3] || 0);
    return plain === "" ? 0 : /^\d+$/.test(plain) ? Number(plain) : null;
  }

  function steppers() {
    for (const input of document.querySelectorAll("input[data-stepper]")) {
      const words = input.labels[0] ? input.labels[0].textContent.trim() : "";
      const step = (by) => {
        const number = whole(input.value);
        if (number === null) return;
        input.value = String(Math.max(0, number + by));
        input.dispatchEvent(new Event("input", { bubbles: true }));
      };
      const button = (by, sign, said) => {
        const one = made("button", { type: "button", "aria-label": `${said}: ${words}` }, sign);
        one.addEventListener("click", () => step(by));
        return one;
      };
      input.before(button(-1, "\u2212", "One less"));
      input.after(button(1, "+", "One more"));
      input.addEventListener("focus", () => input.select());
      input.addEventListener("keydown", (event) => {
        if (input.closest("table.dense") || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
        event.preventDefault();
        step(event.key === "ArrowUp" ? 1 : -1);
      });
    }
  }

  function suggestions() {
    let lists = 0;
    for (const input of document.querySelectorAll("input[data-suggest]")) {
      /* What the page offers already stays until something is typed. */
      const list = input.list || made("datalist", { id: `suggested-${++lists}` });
      if (!list.isConnected) input.after(list);
      input.setAttribute("list", list.id);
      input.setAttribute("autocomplete", "off");
      let waiting, asked = "";
      const ask = async () => {
        const text = input.value.trim();
        if (text === asked || text.length < 2) return;
        asked = text;
        const address = new URL(input.dataset.suggest, location.href);
        address.searchParams.set("q", text);
        try {
          const answer = await fetch(address, { headers: { Accept: "application/json" } });
          if (!answer.ok) return;
          const found = await answer.json();
          if (asked !== text) return;
          list.replaceChildren(...found.map((one) => typeof one === "string"
            ? made("option", { value: one }) : made("option", { value: one.value }, one.label)));
        } catch { asked = ""; /* without network the input is an ordinary one */ }
      };
      input.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 150); });
    }
  }

  /* <div data-sums data-rooted="38" data-unrooted="47"> holds inputs data-sum="rooted", any number of
     data-sum="lost", a choice data-sum="as" (new, all so far, what is left), and a hidden line
     data-sums-line in which data-sum-of="new", "so-far" and "left" are filled in. */
  function liveSums() {
    for (const box of document.querySelectorAll("[data-sums]")) {
      const line = box.querySelector("[data-sums-line]");
      if (!line) continue;
      const before = Number(box.dataset.rooted || 0);
      const say = (name, number) => {
        for (const place of line.querySelectorAll(`[data-sum-of="${name}"]`)) {
          place.textContent = number === null ? "?" : number.toLocaleString("en-GB");
        }
      };
      const sum = () => {
        const input = box.querySelector('[data-sum="rooted"]');
        const choice = box.querySelector('[data-sum="as"]:checked, select[data-sum="as"]');
        let open = Number(box.dataset.unrooted), typed = whole(input.value);
        for (const lost of box.querySelectorAll('[data-sum="lost"]')) {
          const number = whole(lost.value);
          open = number === null || open === null ? null : open - number;
        }
        if (open === null || open < 0) typed = null;
        const way = choice && input.value.trim() !== "" ? choice.value : "new";
        let fresh = typed;
        if (typed !== null && way === "all so far") fresh = typed - before;
        if (typed !== null && way === "what is left") fresh = open - typed;
        const fits = fresh !== null && fresh >= 0 && fresh <= open;
        say("new", fits ? fresh : null);
        say("so-far", fits ? before + fresh : null);
        say("left", fits ? open - fresh : null);
        line.hidden = false;
      };
      box.addEventListener("input", sum);
      box.addEventListener("change", sum);
      sum();
    }
  }

  /* What was typed into a form stays with its person in this tab until the form has been saved. */
  function keptText() {
    const status = document.getElementById("saved");
    const person = document.body.dataset.person;
    if (!status || !person) return;
    const SENT = `strikewell:sent:${person}`;
    const saved = document.querySelector(".notice[data-saved]");
    const sent = remembered(sessionStorage, SENT);
    if (saved && sent) remember(sessionStorage, sent, null);
    if (saved) remember(sessionStorage, SENT, null);
    /* outbox.js says it, together with what waits on this device. */
    const say = (open) => {
      root.dataset.typed = open ? "open" : "";
      document.dispatchEvent(new Event("strikewell:typed"));
    };
    const forms = [...document.querySelectorAll("main form[method=post]")].filter((form) =>
      form.dataset.keep !== "no" && form.querySelector("[name=post_key]")
      && form.querySelector("input:not([type=hidden]), select, textarea")
      && !form.querySelector("[type=password], [type=file]"));
    let open = false;
    forms.forEach((form, place) => {
      const key = `strikewell:typed:${person}:${location.pathname}${location.search}:${form.dataset.keepAs || place}`;
      const read = () => [...form.elements].filter((one) => one.name && one.type !== "submit" && one.name !== "csrf_token")
        .map((one) => [one.name, one.value, ["radio", "checkbox"].includes(one.type) ? one.checked : null]);
      let first = JSON.stringify(read());
      const kept = form.querySelector("[aria-invalid], .error") || document.querySelector(".summary") ? null : remembered(sessionStorage, key);
      if (kept && putBack(form, JSON.parse(kept), sent === key)) {
        open = true;
        say(true);
        /* Above the form: at the foot of a long page nobody would see that it is not a blank one. */
        const told = made("div", { class: "notice warning", role: "status" });
        const afresh = made("button", { type: "button", class: "second" }, "Start afresh");
        afresh.addEventListener("click", () => { remember(sessionStorage, key, null); location.reload(); });
        told.append(made("p", {}, "What you typed here before is back. It is not saved yet."), afresh);
        form.before(told);
      }
      const keep = () => {
        const now = JSON.stringify(read());
        remember(sessionStorage, key, now === first ? null : now);
        say(now !== first);
      };
      form.addEventListener("input", keep);
      form.addEventListener("change", keep);
      form.addEventListener("submit", () => { keep(); remember(sessionStorage, SENT, key); });
      form.addEventListener("outbox:kept", () => {
        remember(sessionStorage, key, null);
        remember(sessionStorage, SENT, null);
        say(false);
      });
      form.addEventListener("outbox:afresh", () => { first = JSON.stringify(read()); });
    });
    if (!open) say(document.querySelector(".summary"));
  }

  /* Hidden fields stay as the page brought them, but for the version that the text was typed on, and
     the key of a form that was sent and perhaps saved: sent again it must not count twice. */
  function putBack(form, kept, wasSent) {
    const waiting = kept.slice();
    let changed = false;
    for (const one of form.elements) {
      const at = waiting.findIndex(([name, value, checked]) =>
        name === one.name && (checked === null || value === one.value));
      if (at < 0) continue;
      const [[, value, checked]] = waiting.splice(at, 1);
      if (one.type === "hidden" && one.name !== "version" && !(wasSent && one.name === "post_key")) continue;
      if (checked === null ? one.value !== value : one.checked !== checked) {
        changed = changed || one.type !== "hidden";
        if (checked === null) one.value = value; else one.checked = checked;
      }
    }
    for (const fold of form.querySelectorAll("details")) {
      if ([...fold.querySelectorAll("input, textarea")].some((one) => one.value !== one.defaultValue)) fold.open = true;
    }
    if (changed) form.dispatchEvent(new Event("change"));
    return changed;
  }

  function keys() {
    document.addEventListener("keydown", (event) => {
      const at = event.target;
      if (event.key === "Escape" && location.hash === "#pages") location.hash = "main";
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey) && at.form) at.form.requestSubmit();
      const line = at.closest && at.closest("table.dense tr");
      if (!line || at.tagName !== "INPUT" || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
      const other = event.key === "ArrowUp" ? line.previousElementSibling : line.nextElementSibling;
      const cell = other && other.cells[at.closest("td, th").cellIndex];
      const input = cell && cell.querySelector("input");
      if (!input) return;
      event.preventDefault();
      input.focus();
      input.select();
    });
  }

  document.addEventListener("DOMContentLoaded", () => {
    sunlightSwitch();
    steppers();
    suggestions();
    keptText();
    liveSums();
    keys();
    const wrong = document.querySelector(".summary");
    if (wrong) wrong.focus();
  });
})();
