// Three small helps; every page works without them.
"use strict";

// What went wrong is read out first.
document.querySelector("[data-focus-first]")?.focus();

// "Print this" shows itself where a script can do it.
for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

// A form marked data-once is sent once; its button says so. The server holds the same, with or without this.
for (const form of document.querySelectorAll("form[data-once]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    const button = event.submitter;
    if (button && form.dataset.once) {
      button.dataset.was = button.textContent;
      button.textContent = form.dataset.once;
    }
  });
}
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll("button[data-was]")) button.textContent = button.dataset.was;
  }
});
