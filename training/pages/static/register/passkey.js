// Makes a passkey or uses one, when its button is pressed. Without it the code is typed.
"use strict";

(() => {
  const form = document.querySelector("form[data-passkey]");
  if (!form || !window.PublicKeyCredential || !window.isSecureContext) return;
  const problem = form.querySelector("[data-problem]");
  const button = form.querySelector("button[data-key]");
  form.querySelector("[data-no-key]")?.remove();
  button.disabled = false;

  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  const named = (list = []) => list.map((one) => ({ ...one, id: bytes(one.id) }));

  const make = async ({ publicKey }) => {
    const key = await navigator.credentials.create({ publicKey: {
      ...publicKey,
      challenge: bytes(publicKey.challenge),
      user: { ...publicKey.user, id: bytes(publicKey.user.id) },
      excludeCredentials: named(publicKey.excludeCredentials),
    } });
    return { ...about(key), response: {
      clientDataJSON: text(key.response.clientDataJSON),
      attestationObject: text(key.response.attestationObject),
    } };
  };
  const use = async ({ publicKey }) => {
    const key = await navigator.credentials.get({ publicKey: {
      ...publicKey,
      challenge: bytes(publicKey.challenge),
      allowCredentials: named(publicKey.allowCredentials),
    } });
    return { ...about(key), response: {
      clientDataJSON: text(key.response.clientDataJSON),
      authenticatorData: text(key.response.authenticatorData),
      signature: text(key.response.signature),
      userHandle: key.response.userHandle ? text(key.response.userHandle) : null,
    } };
  };
  const about = (key) => ({
    id: key.id, rawId: text(key.rawId), type: key.type, clientExtensionResults: key.getClientExtensionResults(),
  });

  form.addEventListener("submit", async (event) => {
    if (form.elements.answer.value) return;
    event.preventDefault();
    problem.hidden = true;
    try {
      const options = JSON.parse(form.dataset.options);
      form.elements.answer.value = JSON.stringify(await (form.dataset.passkey === "make" ? make : use)(options));
      form.submit();
    } catch {
      problem.hidden = false;
      button.focus();
    }
  });
})();
