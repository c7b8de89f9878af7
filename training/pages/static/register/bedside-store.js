// What this device keeps: packs taken along, drafts not sent yet and receipts, and who was here last.
// Everything has its author; nothing is a secret. A change is on the disk before its promise is kept.
"use strict";

const bedside = {};

bedside.store = (() => {
  const NAME = "bedside";
  let opened = null;

  const open = () => {
    opened ??= new Promise((done, fail) => {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore("packs", { keyPath: "key" });
        asked.result.createObjectStore("drafts", { keyPath: "intent" });
        asked.result.createObjectStore("state", { keyPath: "key" });
      };
      asked.onerror = () => { opened = null; fail(asked.error); };
      asked.onsuccess = () => {
        const base = asked.result;
        base.onversionchange = () => { base.close(); opened = null; };
        base.onclose = () => { opened = null; };
        done(base);
      };
    });
    return opened;
  };

  // One transaction over one store: work(rows, keep) asks, and keep(value) is what comes of it.
  const within = async (mode, store, work) => {
    const base = await open();
    return new Promise((done, fail) => {
      const whole = base.transaction(store, mode, { durability: "strict" });
      let kept;
      whole.oncomplete = () => done(kept);
      whole.onabort = whole.onerror = () => fail(whole.error);
      work(whole.objectStore(store), (value) => { kept = value; });
    });
  };

  const get = (store, key) => within("readonly", store, (rows, keep) => {
    rows.get(key).onsuccess = (event) => keep(event.target.result);
  });
  const all = (store) => within("readonly", store, (rows, keep) => {
    rows.getAll().onsuccess = (event) => keep(event.target.result);
  });
  const put = (store, value) => within("readwrite", store, (rows) => { rows.put(value); });
  const remove = (store, key) => within("readwrite", store, (rows) => { rows.delete(key); });
  // Change one row in place, so that two pages open at once lose nothing of each other's. A row that is gone stays gone.
  const change = (store, key, how) => within("readwrite", store, (rows, keep) => {
    rows.get(key).onsuccess = (event) => {
      const row = event.target.result;
      if (!row) return;
      how(row);
      rows.put(row);
      keep(row);
    };
  });

  const of = async (store, author) => (await all(store)).filter((row) => row.author === author);
  const isUnsent = (draft) => !draft.receipt;
  const unsentOf = async (author) => (await of("drafts", author)).filter(isUnsent);
  const unsentByOthers = async (author) =>
    (await all("drafts")).filter((draft) => draft.author !== author && isUnsent(draft)).length;

  // Who signed in last on this device: theirs is what is shown. Being signed in anew also counts as being here.
  const here = async () => (await get("state", "here")) ?? { key: "here", author: "", initials: "", touched: 0 };
  const arriveHere = async (author, initials, { isTouch = false } = {}) => {
    const before = await here();
    if (before.author === author && !isTouch) return;
    await put("state", { key: "here", author, initials, touched: Date.now() });
  };

  // Everything of this author goes, and so does the whole store where nobody else has something unsent in it.
  const wipe = async (author) => {
    if (await unsentByOthers(author) === 0) {
      (await open()).close();
      opened = null;
      await new Promise((done) => {
        const asked = indexedDB.deleteDatabase(NAME);
        asked.onsuccess = asked.onerror = asked.onblocked = done;
      });
      for (const name of await caches.keys()) if (name.startsWith("bedside-")) await caches.delete(name);
      for (const worker of await navigator.serviceWorker.getRegistrations()) await worker.unregister();
      return;
    }
    for (const row of await all("packs")) await remove("packs", row.key);
    for (const row of await all("drafts")) if (row.author === author || row.receipt) await remove("drafts", row.intent);
    await remove("state", "here");
  };

  return { get, all, put, remove, change, of, unsentOf, unsentByOthers, here, arriveHere, wipe };
})();
