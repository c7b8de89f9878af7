// The bedside page: which screen is due, and what each touch does. A touch is kept before the next screen is shown.
"use strict";

(() => {
  const { store, send, paint, screens, pages, lock, word } = bedside;
  const TRY_AGAIN = 30_000;
  const urls = document.getElementById("content").dataset;
  let author = "";
  let note = "";
  let signedOut = false;
  let locked = false;
  let later = 0;

  const where = () => location.hash.slice(1).split("/");
  const to = (hash) => { if (location.hash.slice(1) === hash) return show(); location.hash = hash; return null; };
  const tell = (text) => { document.getElementById("said").textContent = text; };

  const list = () => pages.list(author, { note, signed_out: signedOut });
  const start = async (family, caregiver, skill, ...more) => {
    const found = await pages.foundFor(author, family, caregiver, skill);
    return found ? pages.start(found, skill, ...more) : to("");
  };

  // Which screen is due -------------------------------------------------------------------------------------

  const ownDraft = async (intent) => {
    const draft = await store.get("drafts", intent);
    return draft?.author === author && !draft.receipt ? draft : null;
  };
  const showDraft = async (draft, problem = "") => {
    paint(draft.at.screen === "one" ? "step" : draft.at.screen, screens.values(draft, problem), { again: Boolean(problem) });
    document.querySelector("main [role=alert]")?.scrollIntoView({ block: "center" });
  };
  async function show() {
    if (locked) return;
    const [name, ...rest] = where();
    if (name === "start") return start(...rest);
    const draft = name === "draft" || name === "discard" ? await ownDraft(rest[0]) : null;
    if (draft && name === "discard") return paint("discard", screens.values(draft));
    if (!draft || draft.tried) return list();
    return draft.is_ready ? change(() => {}) : showDraft(draft); // opened again, it is not sent under the hand
  }

  // What a touch does ---------------------------------------------------------------------------------------

  const changed = async (how) => {
    const draft = await store.change("drafts", where()[1], (row) => {
      if (row.tried || row.receipt) return; // it may be with the register already
      row.is_ready = false;
      row.kept_at = Date.now();
      how(row);
    });
    return draft && !draft.tried && !draft.receipt ? draft : null;
  };
  const change = async (how) => { const draft = await changed(how); if (draft) await showDraft(draft); else await list(); };

  const begin = async (purpose) => {
    const [, family, caregiver, skill] = where();
    const form = Object.fromEntries(new FormData(document.getElementById("start")));
    const found = await pages.foundFor(author, family, caregiver, skill);
    if (!found) return to("");
    const { pack, person, about } = found;
    if (purpose === "assessment" && form.setting === "patient" && about.gates.length) {
      return start(family, caregiver, skill, form, "gate");
    }
    const draft = screens.begin(pack, person, skill, { purpose, setting: form.setting, role: form.role, mode: form.mode, place: form.place });
    screens.goOn(draft);
    await store.put("drafts", draft);
    navigator.storage?.persist?.(); // what is not sent is not for the browser to tidy away
    return to(`draft/${draft.intent}`);
  };
  const answer = async (result) => {
    const draft = await ownDraft(where()[1]);
    const { screen, code } = draft.at;
    const problem = screens.problemWith(draft, code, result);
    if (problem) return showDraft(draft, problem);
    const critical = screens.stepOf(draft, code).critical;
    return change((row) => {
      row.clock = null;
      screens.answer(row, code, result);
      if (screen === "one") row.at = { screen: "rest", code: "" };
      else if (critical && result !== "independent") row.at = { screen: "seen", code };
      else screens.goOn(row);
    });
  };
  const clock = () => change((row) => {
    const { code } = row.at;
    if (row.clock?.code === code) {
      row.typed[code] = ((Date.now() - row.clock.at) / 1000).toFixed(1);
      row.clock = null;
    } else {
      delete row.data.results[code]; // measured anew, it is answered anew
      row.clock = { code, at: Date.now() };
    }
  });
  const toWords = async () => {
    const draft = await ownDraft(where()[1]);
    const isMissing = screens.rest(draft).some((step) => !screens.resultOf(draft, step.code));
    if (isMissing) return showDraft(draft, word("no-result"));
    return change((row) => { row.at = { screen: "words", code: "" }; });
  };
  const finish = async () => {
    const missing = (row) => row.form.steps.some((step) => !screens.resultOf(row, step.code));
    const draft = await changed((row) => {
      if (missing(row)) screens.goOn(row);
      row.is_ready = !missing(row);
      delete row.refused;
    });
    if (!draft?.is_ready) return draft ? showDraft(draft) : list();
    to("");
    sendNow();
    return null;
  };

  const actions = {
    begin, answer, clock, finish, "to-words": toWords,
    onward: () => change(screens.goOn),
    back: async () => { const draft = await changed((row) => { row.went = screens.goBack(row); }); if (draft?.went) await showDraft(draft); else await to(""); },
    "to-one": (code) => change((row) => { row.at = { screen: "one", code }; }),
    "all-alone": () => change((row) => { for (const step of screens.rest(row)) row.data.results[step.code] ??= "independent"; }),
    "to-stop": () => change((row) => { row.stop_from = row.at; row.at = { screen: "stop", code: "" }; }),
    unstop: () => change((row) => { row.at = row.at.screen === "stopped" ? { screen: "stop", code: "" } : row.stop_from; }),
    stop: (whose) => change((row) => {
      if (whose) { screens.stop(row, whose); row.at = { screen: "stopped", code: "" }; return; }
      row.data.stopped = null;
      delete row.data.stop;
      row.at = row.stop_from;
    }),
    "stopped-by": (by) => change((row) => { row.data.stop.by = by; row.at = { screen: "words", code: "" }; }),
    feels: (feels) => change((row) => { if (row.data.feels === feels) delete row.data.feels; else row.data.feels = feels; }),
    discard: async () => { await store.remove("drafts", where()[1]); await to(""); },
    forget: async (intent) => { await store.remove("drafts", intent); await list(); },
    send: (intent) => { sendNow({ only: intent }); },
    unlock: async () => { await lock.open(); locked = false; await show(); },
  };

  // What is typed, letter by letter. An empty field is no key at all.
  const keep = {
    value: (row, text) => { row.typed[row.at.code] = text; delete row.data.results[row.at.code]; },
    why: (row, text) => { row.data.stop = { by: "observer", ...row.data.stop, why: text.trim() }; },
    line: (row, text) => { row.data.reteach = { on: null, ...row.data.reteach, line: text }; if (!text.trim()) delete row.data.reteach; },
    line_on: (row, text) => { if (row.data.reteach) row.data.reteach.on = text || null; },
    interpreter: (row, text) => { row.data.interpreter = { language: "", ...row.data.interpreter, kind: text }; if (!text) delete row.data.interpreter; },
    language: (row, text) => { if (row.data.interpreter) row.data.interpreter.language = text; },
    on: (row, text) => { if (text) row.data.on = text; },
    time: (row, text) => { if (text) row.data.time = text; },
  };
  const keepPlain = (name) => (row, text) => { if (text.trim()) row.data[name] = text; else delete row.data[name]; };

  // One thing after the other, in the order of the touches.
  let turn = Promise.resolve();
  const inTurn = (what) => { turn = turn.then(what).catch(() => { tell(word("nothing-kept")); note = word("nothing-kept"); return list().catch(() => {}); }); return turn; };

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do]");
    if (button) inTurn(async () => { if (!locked || button.dataset.do === "unlock") await actions[button.dataset.do](button.dataset.with); });
  });
  document.addEventListener("input", ({ target }) => {
    const name = target.dataset.keep;
    if (name) inTurn(() => changed((row) => (keep[name] ?? keepPlain(name))(row, target.value)));
  });
  document.addEventListener("submit", (event) => {
    event.preventDefault();
    if (event.target.id === "unlock") inTurn(async () => { if (await lock.tryPassword(event.target.password.value)) { locked = false; await show(); } });
  });
  window.addEventListener("hashchange", () => inTurn(show));

  // Sending, the lock and the clock -------------------------------------------------------------------------

  // Beside the touches, not in turn with them: a slow network holds up no answer.
  async function sendNow(how) {
    const became = await send.all(urls, how).catch(() => "failed");
    await inTurn(async () => {
      signedOut = became === "signed-out";
      note = ["refused", "offline"].includes(became) ? "" : word(became); // both stand on the page already
      tell(word(became));
      if (!locked && !["start", "draft", "discard"].includes(where()[0])) await list();
    });
    clearTimeout(later);
    if (became === "failed") later = setTimeout(sendNow, TRY_AGAIN);
  }
  const refresh = async () => {
    await send.tidy(author);
    for (const pack of (await store.of("packs", author)).filter(pages.isOld)) await send.take(urls.pack.replace(/[0-9a-f-]{36}/, pack.family), author);
  };
  const look = async () => {
    const who = await send.token(urls);
    if (who.member) await store.arriveHere(who.member, who.initials);
    author = who.why === "somebody-else" ? "" : (await store.here()).author;
    signedOut = who.why === "signed-out";
    return Boolean(who.member);
  };
  const check = async () => { if (!locked && await lock.isDue()) locked = !(await lock.show()); };
  const lookAndSend = async () => {
    await inTurn(async () => {
      const isHere = await look();
      if (locked) locked = !(await lock.show());
      else await check();
      await show();
      if (isHere) refresh().catch(() => {});
    });
    if (author && !locked) await sendNow();
  };

  setInterval(() => {
    const face = document.querySelector("#clock[data-since]:not([data-since=''])");
    if (face) face.textContent = ((Date.now() - Number(face.dataset.since)) / 1000).toFixed(1);
  }, 100);
  setInterval(() => inTurn(check), 1000);
  for (const touch of ["pointerdown", "keydown"]) document.addEventListener(touch, () => { if (!locked) lock.touch().catch(() => {}); });
  window.addEventListener("online", lookAndSend);
  window.addEventListener("offline", () => inTurn(async () => { note = ""; if (locked) await lock.show(); else if (!where()[0]) await list(); }));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) inTurn(check); });

  if (window.isSecureContext && window.indexedDB) {
    navigator.serviceWorker.register(urls.worker, { scope: "/" }).catch(() => {});
    lookAndSend();
  } else {
    tell(word("nothing-kept"));
    document.querySelector("main h1").textContent = word("nothing-kept");
  }
})();
