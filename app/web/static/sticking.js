/* Strikewell, the form of a batch: once plant and cutting type are chosen, blanks are filled from the
   method card. What somebody typed is never touched; without this the button beside the card does it. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const form = document.querySelector("form[data-starting]");
  if (!form) return;
  const field = (name) => form.elements.namedItem(name);
  const filled = () => { try { return JSON.parse(field("prefilled").value || "{}"); } catch { return {}; } };
  let asked = "";

  function fill(card) {
    const before = filled(), now = {};
    for (const name of new Set([...Object.keys(before), ...Object.keys(card.texts)])) {
      const input = field(name), text = card.texts[name] || "";
      if (!input || !["", before[name] || ""].includes(input.value.trim())) continue;
      input.value = text;
      if (text) now[name] = text;
    }
    field("card_version").value = card.version_id || "";
    field("prefilled").value = Object.keys(now).length ? JSON.stringify(now) : "";
    form.dispatchEvent(new Event("change"));
  }

  function hint(name, text) {
    const input = field(name);
    if (!input || !input.id) return;
    let said = document.getElementById(`${name}-hint`);
    if (!said && text) {
      said = document.createElement("p");
      said.id = `${name}-hint`;
      said.className = "hint";
      input.before(said);
      input.setAttribute("aria-describedby", `${said.id} ${input.getAttribute("aria-describedby") || ""}`.trim());
    }
    if (said) said.textContent = text;
  }

  function show(card) {
    const quiet = form.querySelector("details.fold > summary small");
    if (quiet) quiet.textContent = card.summary;
    for (const [name, text] of Object.entries(card.hints)) hint(name, text);
    const caution = form.querySelector("[data-caution]"), rights = form.querySelector("[data-rights]");
    caution.textContent = card.caution;
    rights.textContent = card.rights;
    rights.hidden = !card.rights;
    const lines = form.querySelector("details.fold dl");
    if (lines) lines.remove();
  }

  async function ask() {
    const address = new URL(form.dataset.starting, location.href);
    for (const name of ["plant", "cutting_type"]) address.searchParams.set(name, field(name).value);
    if (String(address) === asked) return;
    asked = String(address);
    try {
      const answer = await fetch(address, { headers: { Accept: "application/json" } });
      if (!answer.ok) return;
      const card = await answer.json();
      if (asked !== String(address)) return;
      show(card);
      fill(card);
    } catch { asked = ""; /* without network the form is an ordinary one */ }
  }

  // Only what belongs to the type chosen is in sight; a field that holds something or is wrong stays.
  function showWays() {
    const kind = field("cutting_type").value;
    let any = false;
    for (const part of form.querySelectorAll("[data-ways]")) {
      const filled = [...part.querySelectorAll("input, select")].some((input) => input.type !== "checkbox" && input.value);
      part.hidden = !part.dataset.ways.split(" ").includes(kind) && !filled && !part.querySelector(".error");
      any = any || !part.hidden;
    }
    const words = form.querySelector("[data-ways-words]");
    if (!words) return;
    words.hidden = true;
    words.previousElementSibling.hidden = !any;
  }

  showWays();
  field("cutting_type").addEventListener("change", showWays);
  field("plant").addEventListener("change", ask);
  field("cutting_type").addEventListener("change", ask);
});
