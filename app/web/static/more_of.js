/* Strikewell, ten more and a tray more, beside the buttons for one: <span data-more-of="id of an input"
   data-tray="84">. Without this the number is typed. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  for (const place of document.querySelectorAll("[data-more-of]")) {
    const input = document.getElementById(place.dataset.moreOf), words = input.labels[0].textContent.trim();
    for (const [by, said] of [[10, "+10"], [Number(place.dataset.tray || 0), `+ a tray, ${place.dataset.tray}`]]) {
      if (!by) continue;
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: said });
      button.setAttribute("aria-label", `${said}: ${words}`);
      button.addEventListener("click", () => {
        const number = input.value.trim() === "" ? 0 : Number(input.value);
        if (!Number.isInteger(number)) return;
        input.value = String(number + by);
        input.dispatchEvent(new Event("input", { bubbles: true }));
      });
      place.append(button);
    }
  }
});
