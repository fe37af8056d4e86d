// Says in words that a file is being drawn: the browser itself shows nothing until it comes.
document.querySelectorAll("form[data-labels]").forEach((form) => {
  form.addEventListener("submit", (event) => {
    const file = event.submitter && event.submitter.formAction.includes(".pdf");
    const said = form.querySelector("[data-progress]");
    if (file && said) said.textContent = said.dataset.words;
  });
});
