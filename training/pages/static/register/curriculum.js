// What a standard, a step’s limits or a check means, shown while it is written: the same page the button "Show" asks for, of which one part is taken.
"use strict";

const form = document.querySelector("form[data-said]");
if (form) {
  let waiting = 0;
  let asked = 0;
  const ask = async () => {
    const mine = ++asked;
    const data = new FormData(form);
    data.set("show", "yes");
    const answer = await fetch(form.action, { method: "POST", body: data, credentials: "same-origin" }).catch(() => null);
    if (!answer || !answer.ok || mine !== asked) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const said = page.getElementById("said");
    const here = document.getElementById("said");
    if (said && here) here.replaceChildren(...said.childNodes);
  };
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 400);
  });
}
