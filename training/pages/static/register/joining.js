// The code in the picture stands behind the "#" of the address, which is sent to nobody: put it into the field, take it
// out of the address, send the form. And a password can be looked at while it is typed. Both work without this, by hand.
"use strict";

const field = document.querySelector("form[data-code] input[name=code]");
const behind = decodeURIComponent(location.hash.slice(1));
if (field && /^[A-Za-z0-9-]{12,20}$/.test(behind)) {
  history.replaceState(null, "", location.pathname);
  field.value = behind;
  field.form.requestSubmit();
}

for (const password of document.querySelectorAll("input[data-can-show]")) {
  const words = document.getElementById("show-password");
  const button = words.content.firstElementChild.cloneNode(true);
  button.addEventListener("click", () => {
    const shown = password.type === "text";
    password.type = shown ? "password" : "text";
    button.textContent = shown ? button.dataset.show : button.dataset.hide;
  });
  password.after(button);
}
