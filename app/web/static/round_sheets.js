/* Typing a round sheet in: Enter goes to the next line, up and down stay in the column. Without
   this script Enter saves what is typed so far, and the page comes back at the next open line. */
"use strict";

document.addEventListener("keydown", (event) => {
  const box = event.target.closest("[data-dense] input");
  if (!box || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
  const line = box.closest("tr");
  const lines = [...document.querySelectorAll("[data-dense] tr")].filter((one) => one.querySelector("input"));
  const place = lines.indexOf(line);
  const column = [...line.querySelectorAll("input")].indexOf(box);
  let next = null;
  if (event.key === "Enter") {
    const following = lines[place + 1];
    next = following ? following.querySelector("input") : document.querySelector("[data-dense-save]");
  } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && !box.hasAttribute("list")) {
    const beside = lines[place + (event.key === "ArrowDown" ? 1 : -1)];
    next = beside && beside.querySelectorAll("input")[column];
  } else return;
  event.preventDefault();
  if (!next) return;
  next.focus();
  if (next.select && next.type === "text") next.select();
});
