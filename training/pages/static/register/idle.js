// Warns before a page left alone signs its reader out. The server ends the session with or without this.
"use strict";

(() => {
  const dialog = document.getElementById("idle");
  const { address } = dialog.dataset;
  const limit = Number(dialog.dataset.seconds) * 1000;
  const warn = Number(dialog.dataset.warn) * 1000;
  const stay = dialog.querySelector("[data-stay]");
  const face = dialog.querySelector("[data-left]");
  const said = dialog.querySelector("[data-said]");
  const SAY_EVERY = Math.min(60000, limit / 4);
  let ends = Date.now() + limit;
  let told = Date.now();
  let asking = false;

  const heard = async (answer) => {
    const { left } = await answer.json();
    ends = Date.now() + left * 1000;
  };
  const ask = async () => heard(await fetch(address, { cache: "no-store" }));
  const touch = async () => {
    told = Date.now();
    await heard(await fetch(address, { method: "POST", body: new FormData(stay) }));
  };

  // Typing counts, at most once a minute: a long note is not a page left alone.
  for (const kind of ["pointerdown", "keydown", "input"]) {
    document.addEventListener(kind, () => {
      if (!dialog.open && Date.now() - told > SAY_EVERY) touch().catch(() => {});
    }, { passive: true });
  }

  stay.addEventListener("submit", async (event) => {
    event.preventDefault();
    await touch().catch(() => {});
    if (ends > Date.now()) dialog.close();
  });
  dialog.addEventListener("cancel", (event) => {
    event.preventDefault(); // Escape stays too
    stay.requestSubmit();
  });

  const clock = (left) => {
    const seconds = Math.max(0, Math.ceil(left / 1000));
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };
  const say = (left) => {
    const minutes = Math.floor(left / 60000);
    const words = minutes ? said.dataset.minutes.replace("{n}", minutes) : said.dataset.soon;
    if (said.textContent !== words) said.textContent = words;
  };

  // Another tab may have been used since: the server is asked before anybody is warned or sent away.
  const look = async () => {
    if (asking || ends - Date.now() > warn) {
      if (dialog.open && ends - Date.now() > warn) dialog.close();
      return;
    }
    if (!dialog.open) {
      asking = true;
      await ask().catch(() => {});
      asking = false;
      if (ends - Date.now() > warn) return;
      dialog.showModal();
    }
    const left = ends - Date.now();
    face.textContent = clock(left);
    say(left);
    if (left > 0) return;
    asking = true;
    await ask().catch(() => {});
    asking = false;
    if (ends <= Date.now()) location.assign(location.href.split("#")[0]); // the server leads to signing in, and back
  };
  setInterval(look, 1000);
})();
