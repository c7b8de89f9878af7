// Everything that is said to the register: a token, the packs, the recordings, each until its receipt is here.
// No token is kept. A recording that may have arrived is changed no more on this device.
"use strict";

bedside.send = (() => {
  const { store } = bedside;
  const WEEK = 7 * 24 * 3600 * 1000;
  const MOST_PACKS = 12;
  const PATIENCE = 8000;
  const FIRST_PATIENCE = 3000; // a page that opens waits for this one

  const ask = (url, options = {}) => fetch(url, {
    redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(PATIENCE), ...options,
  });

  // Who is signed in, with a token; or why not: "offline", "signed-out",
  // "somebody-else" (a person who does not record), "failed".
  const token = async (urls) => {
    try {
      const answer = await ask(urls.token, { signal: AbortSignal.timeout(FIRST_PATIENCE) });
      if (answer.type === "opaqueredirect") return { why: "signed-out" };
      if (answer.status === 403 || answer.status === 404) return { why: "somebody-else" };
      return answer.ok ? await answer.json() : { why: "failed" };
    } catch {
      return { why: "offline" };
    }
  };

  // What is posted: nothing of the device's own notes.
  const parcel = ({ intent, author, family, caregiver, data }) => JSON.stringify({ intent, author, family, caregiver, data });

  const one = async (urls, who, intent) => {
    const draft = await store.change("drafts", intent, (row) => { row.tried = true; });
    if (!draft || draft.receipt || draft.author !== who.member) return "sent";
    const answer = await ask(urls.arrive, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": who.token },
      body: parcel(draft),
    });
    const isJson = (answer.headers.get("Content-Type") ?? "").startsWith("application/json");
    if (!isJson || answer.status >= 500) return answer.type === "opaqueredirect" ? "signed-out" : "failed";
    const said = await answer.json();
    if (answer.ok && said.intent === intent) {
      await store.change("drafts", intent, (row) => {
        // the receipt needs no more of anybody than what is shown beside it
        row.receipt = { address: said.draft ?? said.record, is_record: Boolean(said.record), at: Date.now() };
        delete row.data;
        delete row.form;
        delete row.refused;
      });
      return "sent";
    }
    // Refused, so it made nothing: it may be changed again.
    await store.change("drafts", intent, (row) => { row.tried = false; row.refused = said.refused; });
    return "refused";
  };

  const allOf = async (urls, { unfinished, only }) => {
    const who = await token(urls);
    if (who.why) return who.why;
    const mine = await store.unsentOf(who.member);
    const wanted = mine.filter((d) => (only ? d.intent === only : d.is_ready || unfinished) && (only || !d.refused));
    let became = "";
    for (const { intent } of wanted.sort((a, b) => a.started - b.started)) {
      try {
        became = await one(urls, who, intent);
      } catch {
        return navigator.onLine ? "failed" : "offline";
      }
      if (became === "failed" || became === "signed-out") return became;
    }
    return became && (await store.unsentOf(who.member)).some((d) => d.refused) ? "refused" : became;
  };

  // One page sends at a time; the register would answer a second post with the same receipt anyway.
  const all = (urls, how = {}) => navigator.locks.request("bedside-send", () => allOf(urls, how));

  // Take a family along, or take it anew. One that is no longer to be seen is let go.
  const take = async (url, author) => {
    const answer = await ask(url);
    const family = url.split("/").at(-2);
    if (answer.status === 404 || answer.status === 403) await store.remove("packs", `${author} ${family}`);
    if (!answer.ok) return null;
    const pack = await answer.json();
    if (pack.author !== author) return null;
    const before = await store.get("packs", `${author} ${family}`);
    const now = Date.now();
    await store.put("packs", { ...pack, key: `${author} ${family}`, taken: now, opened: before?.opened ?? now });
    return pack;
  };

  // A week after it was last taken, and beyond the newest dozen, a pack is let go; so is a receipt.
  const tidy = async (author) => {
    const packs = (await store.of("packs", author)).sort((a, b) => b.opened - a.opened);
    const old = packs.filter((pack, n) => n >= MOST_PACKS || Date.now() - pack.taken > WEEK);
    for (const pack of old) await store.remove("packs", pack.key);
    const receipts = (await store.of("drafts", author)).filter((d) => d.receipt && Date.now() - d.receipt.at > WEEK);
    for (const draft of receipts) await store.remove("drafts", draft.intent);
  };

  return { ask, token, all, take, tidy };
})();
