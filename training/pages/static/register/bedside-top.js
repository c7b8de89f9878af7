// On every page of somebody signed in: says who is here, takes the family along that stands open, and asks before a
// log-out throws away what was not sent. Without it the pages work as they do.
"use strict";

(() => {
  const { store, send } = bedside;
  const top = document.querySelector("[data-bedside-top]");
  const dialog = document.getElementById("unsent");
  if (!top || !window.isSecureContext || !window.indexedDB || !navigator.serviceWorker) return;
  const { member, initials, pack, worker } = top.dataset;

  const takeAlong = async () => {
    await store.arriveHere(member, initials, { isTouch: true });
    if (!worker) return;
    await navigator.serviceWorker.register(worker, { scope: "/" });
    await send.tidy(member);
    if (!pack) return;
    if (!await send.take(pack, member)) return;
    await store.change("packs", `${member} ${pack.split("/").at(-2)}`, (row) => { row.opened = Date.now(); });
    top.hidden = false;
  };
  window.addEventListener("load", () => takeAlong().catch(() => {}), { once: true });

  // Signing out ---------------------------------------------------------------------------------------------

  const form = top.closest("header")?.querySelector("form[method=post]");
  const leave = async () => {
    await store.wipe(member).catch(() => {});
    form.submit();
  };
  const show = async (problem = "") => {
    const count = (await store.unsentOf(member)).length;
    if (!count) return leave();
    dialog.querySelector("[data-count]").textContent = count;
    dialog.querySelector("[data-problem]").hidden = !problem;
    if (!dialog.open) dialog.showModal();
    return null;
  };
  form?.addEventListener("submit", (event) => {
    event.preventDefault();
    show().catch(() => form.submit());
  });
  dialog.addEventListener("click", async ({ target }) => {
    const wanted = target.closest("button")?.value;
    if (wanted === "stay") dialog.close();
    if (wanted === "leave") await leave();
    if (wanted !== "send") return;
    // what is under way goes too, as far as it has come: its draft asks for the rest
    await send.all(top.dataset, { unfinished: true }).catch(() => "failed");
    await show("not all");
  });
})();
