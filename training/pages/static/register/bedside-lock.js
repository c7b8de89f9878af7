// A page left alone covers itself: initials only. What was recorded is kept.
"use strict";

bedside.lock = (() => {
  const { store, send } = bedside;
  const WRITE_EVERY = 5000;
  let written = 0;
  let touched = 0;
  const SAY_EVERY = 60000;
  let said = 0;

  const urls = () => document.getElementById("content").dataset;
  const idle = () => Number(urls().idle) * 1000;

  // A person touched the page: only that counts, no timer and no post does.
  const touch = async () => {
    touched = Date.now();
    if (touched - written < Math.min(WRITE_EVERY, idle() / 4)) return;
    written = touched;
    await store.change("state", "here", (row) => { row.touched = Date.now(); });
    if (touched - said < SAY_EVERY || !navigator.onLine) return;
    said = touched;
    send.ask(`${urls().token}?here=yes`).catch(() => {}); // the session is not left alone either
  };

  const isDue = async () => {
    const here = await store.here();
    return Boolean(here.author) && Date.now() - Math.max(touched, here.touched) > idle();
  };

  const open = async () => {
    written = touched = Date.now();
    await store.change("state", "here", (row) => { row.touched = touched; });
  };

  // With a connection the password is asked for; somebody who has signed in since is let through.
  const show = async (problem = "") => {
    const here = await store.here();
    const who = await send.token(urls());
    const isOut = ["offline", "failed"].includes(who.why);
    const isThem = who.member === here.author;
    if (isThem && Date.parse(who.signed_in_at) > Math.max(touched, here.touched)) {
      await open();
      return true;
    }
    bedside.paint("locked", {
      initials: here.initials,
      mine: (await store.unsentOf(here.author)).length,
      may_sign_in: isThem,
      must_sign_in: !isThem && !isOut,
      is_offline: isOut,
      problem,
    });
    return false;
  };

  // Whether the password fits.
  const tryPassword = async (password) => {
    const who = await send.token(urls());
    if (who.why) return show();
    const answer = await send.ask(urls().unlock, {
      method: "POST", headers: { "X-CSRFToken": who.token }, body: new URLSearchParams({ password }),
    });
    if (answer.status === 204) {
      await open();
      return true;
    }
    return show(bedside.word(answer.status === 429 ? "too-many" : "wrong-password"));
  };

  return { touch, isDue, open, show, tryPassword };
})();
