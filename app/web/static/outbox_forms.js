/* Strikewell, forms that go through the outbox. Without this each of them posts by itself.
   data-outbox="page"     the page goes on to where the saved entry leads, as without a script
   data-outbox="stay"     the page stays; its own script hears outbox:kept on the form
   data-words="26-0147"   what the entry is about, for the list of what waits
   data-mark="K7-3"       what is written on the label until the log gives its number            */
"use strict";

const outboxForms = (() => {
  const SHOWN_MS = 8000;

  /* "Rooted 12, Newly lost 3": what was typed, by its labels, for the list of what waits. */
  function typedWords(form) {
    const said = [];
    for (const one of form.elements) {
      if (!one.name || ["hidden", "submit"].includes(one.type) || !one.labels || !one.labels.length) continue;
      const label = one.labels[0].textContent.trim();
      if (["radio", "checkbox"].includes(one.type)) { if (one.checked && !one.defaultChecked) said.push(label); }
      else if (one.value.trim() && (one.tagName === "SELECT" ? !one.selectedOptions[0].defaultSelected : one.value !== one.defaultValue || "stepper" in one.dataset)) said.push(`${label} ${one.value.trim()}`);
    }
    return said.join(", ");
  }

  function fieldsOf(form, button) {
    const fields = [...new FormData(form)].filter(([name, value]) => name !== "csrf_token" && typeof value === "string");
    if (button && button.name) fields.push([button.name, button.value]);
    return fields;
  }

  function sendPlainly(form, button) {
    if (button && button.name) {
      const pressed = Object.assign(document.createElement("input"), { type: "hidden", name: button.name, value: button.value });
      form.append(pressed);
    }
    form.submit();
  }

  async function taken(event) {
    const form = event.target, button = event.submitter;
    if (!form.matches("form[data-outbox]") || !outbox.person() || (button && button.name === "look_again") || form.querySelector("[type=file]")) return;
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    try {
      const entry = {
        key: form.elements.namedItem("post_key").value, address: form.getAttribute("action") || location.pathname + location.search,
        fields: fieldsOf(form, button), words: form.dataset.words || document.title, mark: form.dataset.mark || "",
        said: [button && button.name ? button.textContent.trim() : "", typedWords(form)].filter(Boolean).join(", "),
      };
      const kept = await outbox.keep(entry);
      form.dispatchEvent(new CustomEvent("outbox:kept", { bubbles: true, detail: { entry: kept } }));
      if (form.dataset.outbox === "page") await onItsPage(form, button, kept); else outbox.send();
    } catch {
      sendPlainly(form, button);
    } finally { delete form.dataset.busy; }
  }

  /* As without a script where the log answers soon; else the page says so and takes the next one. */
  async function onItsPage(form, button, kept) {
    const heard = new Promise((done) => {
      document.addEventListener("outbox:saved", (event) => { if (event.detail.entry.key === kept.key) done(event.detail); });
      document.addEventListener("outbox:refused", (event) => { if (event.detail.entry.key === kept.key) done(event.detail); });
      setTimeout(() => done(null), SHOWN_MS);
    });
    const became = await Promise.race([heard, outbox.send(kept.key).then(() => null)]);
    if (became && became.answer) location.assign(became.answer.location);
    else if (became) sendPlainly(form, button);
    else tellKept(form, kept);
  }

  function tellKept(form, kept) {
    const notice = document.createElement("div"), line = document.createElement("p");
    notice.className = "notice warning";
    notice.setAttribute("role", "status");
    line.textContent = `Kept on this device, not received yet: ${kept.words}. It is sent by itself.`;
    notice.append(line);
    for (const old of document.querySelectorAll(".notice[data-kept]")) old.remove();
    notice.dataset.kept = "";
    form.before(notice);
    /* A form that came back with errors brings its wrong numbers as what it begins with. */
    if (document.querySelector(".summary")) form.remove(); else afresh(form);
    notice.scrollIntoView({ block: "nearest" });
  }

  /* Another entry with the same form: blank as it came, under a key of its own. */
  function afresh(form) {
    form.reset();
    form.elements.namedItem("post_key").value = outbox.newKey();
    form.dispatchEvent(new CustomEvent("outbox:afresh", { bubbles: true }));
  }

  /* Opens the form of a refused entry, filled, with what is wrong beside its fields. */
  function mend(entry) {
    const form = document.createElement("form");
    Object.assign(form, { method: "post", action: entry.address, hidden: true });
    const held = document.querySelector("[name=csrf_token]");
    for (const [name, value] of [...entry.fields, ["csrf_token", outbox.token() || (held ? held.value : "")]]) {
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
    }
    document.body.append(form);
    form.submit();
  }

  /* What is wrong, on top of a form that stays and beside its fields, as the log itself would show it. */
  function showWrong(form, place, lines, targets = []) {
    hideWrong(form, place);
    const summary = Object.assign(document.createElement("div"), { className: "summary", tabIndex: -1 });
    const heading = document.createElement("h2"), list = document.createElement("ul");
    summary.setAttribute("role", "alert");
    heading.textContent = lines.length === 1 ? "Please look at this again" : "Please look at these again";
    summary.append(heading, list);
    lines.forEach((line, number) => {
      const item = document.createElement("li"), field = targets[number] && document.getElementById(targets[number]);
      list.append(item);
      if (!field || !form.contains(field)) { item.textContent = line; return; }
      item.append(Object.assign(document.createElement("a"), { href: `#${field.id}`, textContent: line }));
      const said = Object.assign(document.createElement("p"), { className: "error", id: `${field.id}-error`, textContent: line });
      const stepper = field.closest(".stepper");
      if (stepper) stepper.after(said); else field.before(said);
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", `${said.id} ${field.getAttribute("aria-describedby") || ""}`.trim());
      for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    });
    place.append(summary);
    if (!document.title.startsWith("Error: ")) document.title = `Error: ${document.title}`;
    summary.focus();
  }

  function hideWrong(form, place) {
    place.replaceChildren();
    for (const said of form.querySelectorAll(".summary, .error")) said.remove();
    for (const box of form.querySelectorAll(".field.wrong")) box.classList.remove("wrong");
    for (const field of form.querySelectorAll("[aria-invalid]")) {
      field.removeAttribute("aria-invalid");
      const rest = (field.getAttribute("aria-describedby") || "").split(" ").filter((id) => id && !id.endsWith("-error")).join(" ");
      if (rest) field.setAttribute("aria-describedby", rest); else field.removeAttribute("aria-describedby");
    }
    document.title = document.title.replace(/^Error: /, "");
  }

  document.addEventListener("submit", taken);
  return { afresh, mend, showWrong, hideWrong };
})();
