/* Strikewell, sticking by phone: the page stays, the number goes, the next one is a number and a press.
   A batch that the log has not received yet stands under a mark of this device, to be written on its
   label; the log keeps the mark, so that it finds the batch. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const form = document.querySelector("form.bench-stick"), list = document.querySelector("[data-stuck-list]");
  if (!form || !outbox.person()) return;
  const LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ", MARKS = "strikewell:marks", MOST = 9999;
  const made = (tag, attributes, ...inside) => {
    const element = Object.assign(document.createElement(tag), attributes);
    element.append(...inside);
    return element;
  };

  /* Two letters drawn once for this device, and a number that goes up: no other tray has the same. */
  function nextMark() {
    let marks = null;
    try { marks = JSON.parse(localStorage.getItem(MARKS)); } catch { /* not kept: letters drawn anew */ }
    if (!marks || marks.next > MOST) {
      const drawn = crypto.getRandomValues(new Uint8Array(2));
      marks = { letters: [...drawn].map((one) => LETTERS[one % LETTERS.length]).join(""), next: 1 };
    }
    const mark = `${marks.letters}-${marks.next}`;
    try { localStorage.setItem(MARKS, JSON.stringify({ ...marks, next: marks.next + 1 })); } catch { /* as above */ }
    return mark;
  }

  const number = form.elements.namedItem("stuck"), plant = form.elements.namedItem("plant"), tag = form.elements.namedItem("tag");
  const wrong = form.querySelector("[data-stick-wrong]");
  const lines = new Map();
  form.dataset.mark = nextMark();
  const words = () => { form.dataset.words = plant.value.trim() || "A batch"; };
  plant.addEventListener("change", words);
  words();

  /* Numbers and names that only the log can judge are judged there; what is plainly missing is said at once. */
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (button && button.name === "look_again") return;
    const missing = [[number, "Type how many were stuck."], [plant, "Name the plant, or give its stock plant's code."]].find(([one]) => one.value.trim() === "");
    outboxForms.hideWrong(form, wrong);
    if (!missing) return;
    event.preventDefault();
    event.stopPropagation();
    outboxForms.showWrong(form, wrong, [missing[1]], [missing[0].id]);
  });

  const button = (said, of, act, className = "second") => made("button", { type: "button", className, onclick: act },
    said, made("span", { className: "unseen" }, ` ${of}`));

  function line(entry, said, ...acts) {
    const place = lines.get(entry.key) || made("li", { className: "notice" });
    place.replaceChildren(made("p", {}, ...[said].flat()), made("div", { className: "acts" }, ...acts));
    if (!lines.has(entry.key)) list.prepend(place);
    lines.set(entry.key, place);
    document.querySelector("[data-stuck-heading]").hidden = false;
  }

  const typed = (entry, name = "stuck") => new Map(entry.fields).get(name);
  const mine = (entry) => lines.has(entry.key);

  form.addEventListener("outbox:kept", (event) => {
    const entry = event.detail.entry;
    line(entry, `${typed(entry)} of ${entry.words}: noted.`);
    number.value = tag.value = "";
    form.elements.namedItem("post_key").value = outbox.newKey();
    form.dataset.mark = nextMark();
    form.dispatchEvent(new CustomEvent("outbox:afresh"));
    number.focus();
  });

  document.addEventListener("outbox:changed", (event) => {
    for (const entry of event.detail.entries.filter((one) => mine(one) && outbox.isWaiting(one) && one.failed)) {
      line(entry, [`${typed(entry)} of ${entry.words}: waiting on this device. ${typed(entry, "tag") ? "Its label says" : "Write on its label"}: `, made("b", {}, typed(entry, "tag") || entry.mark)],
        button("Undo", entry.mark, async () => { await outbox.takeBack(entry); line(entry, `${typed(entry)} of ${entry.words}: taken back.`); lines.delete(entry.key); }));
    }
  });

  document.addEventListener("outbox:saved", (event) => {
    const { entry, answer, undoing } = event.detail;
    if (!mine(entry)) return;
    const code = (answer.link || "").split("/").pop();
    if (undoing) { line(entry, `${code} is undone.`); return; }
    const marked = entry.failed && !typed(entry, "tag") ? ` Its label said ${entry.mark} until now.` : "";
    line(entry, `${answer.message}${marked}`, made("a", { href: answer.link, className: "away" }, "Open it", made("span", { className: "unseen" }, ` ${code}`)),
      button("Undo", code, async () => { await outbox.undo(entry, answer.undo); line(entry, `${code} is undone.`); }));
  });

  document.addEventListener("outbox:refused", (event) => {
    const { entry, lines: why } = event.detail;
    if (!mine(entry)) return;
    /* Nothing typed since: it comes back into the form, under its own key, to be put right there. */
    if (number.value.trim() === "") {
      lines.get(entry.key).remove();
      lines.delete(entry.key);
      for (const [name, value] of entry.fields) {
        const field = form.elements.namedItem(name);
        if (field && "value" in field && field.type !== "checkbox") field.value = value;
      }
      form.dataset.mark = entry.mark;
      outboxForms.showWrong(form, wrong, why, entry.refused.targets);
      return;
    }
    line(entry, `${typed(entry)} of ${entry.words} was refused and kept: ${why.join(" ")}`, button("Mend it", entry.words, () => outboxForms.mend(entry), ""));
    lines.get(entry.key).className = "notice warning";
  });
});
