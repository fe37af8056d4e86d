/* Strikewell, what waits on this device: each entry with what was typed, when, and what to do. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const list = document.querySelector("[data-waiting-list]"), none = document.querySelector("[data-waiting-none]");
  const sendNow = document.querySelector("[data-send-now]");
  const made = (tag, attributes, ...inside) => {
    const element = Object.assign(document.createElement(tag), attributes);
    element.append(...inside);
    return element;
  };
  const time = (ms) => new Date(ms).toLocaleString("en-GB", { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
  const button = (words, of, act) => made("button", { type: "button", className: "second", onclick: act },
    words, made("span", { className: "unseen" }, ` ${of}`));

  function acts(entry) {
    const box = made("div", { className: "acts" });
    if (entry.person !== outbox.person()) return box;
    if (entry.aside) box.append(button("Bring back", entry.words, () => outbox.putAside(entry, false)));
    else if (entry.refused) {
      box.append(made("button", { type: "button", onclick: () => outboxForms.mend(entry) }, "Mend it", made("span", { className: "unseen" }, ` ${entry.words}`)));
      box.append(button("Put aside", entry.words, () => outbox.putAside(entry, true)));
    } else box.append(button("Take back", entry.words, () => outbox.takeBack(entry)));
    return box;
  }

  function state(entry) {
    if (entry.person !== outbox.person()) return "Entered by somebody else. It is sent when they sign in on this device.";
    if (entry.aside) return "Put aside. It is forgotten after 30 days.";
    if (entry.takenBack) return "Taken back: it is undone as soon as it is known to have arrived.";
    return entry.refused ? "Refused. Nothing of it is in the log." : "Waiting to be sent.";
  }

  function draw(entries) {
    none.hidden = entries.length > 0;
    sendNow.hidden = !entries.some((entry) => outbox.isWaiting(entry) && entry.person === outbox.person());
    list.replaceChildren(...entries.map((entry) => made("li", { className: entry.refused && !entry.aside ? "notice warning" : "facts" },
      made("div", {},
        made("h2", {}, entry.words),
        made("p", {}, [entry.said, `recorded ${time(entry.recorded)} on this device`].filter(Boolean).join("; "), "."),
        made("p", { className: entry.refused ? "late-words" : "" }, state(entry)),
        ...(entry.refused ? entry.refused.lines.map((line) => made("p", {}, line)) : [])),
      acts(entry))));
  }

  sendNow.querySelector("button").addEventListener("click", () => outbox.send());
  document.addEventListener("outbox:changed", (event) => draw(event.detail.entries));
});
