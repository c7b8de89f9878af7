// Puts one of the shell's templates on the screen, with its values. Text is only ever text.
"use strict";

bedside.paint = (() => {
  const SETTLES = 250; // a second touch of a gloved finger must not answer the next question
  const put = (text, values) => text.replace(/\{(\w+)\}/g, (all, name) => values[name] ?? "");
  const holds = (wanted, values) => {
    const name = wanted.replace("!", "");
    const value = values[name];
    const is = Array.isArray(value) ? value.length > 0 : Boolean(value);
    return wanted.startsWith("!") ? !is : is;
  };

  const repeat = (element, values) => {
    const pattern = document.createDocumentFragment();
    pattern.append(...element.childNodes);
    for (const item of values[element.dataset.each] ?? []) {
      const copy = pattern.cloneNode(true);
      fill(copy, { ...values, ...item });
      element.append(copy);
    }
  };

  function fill(root, values) {
    for (const node of [...root.childNodes]) {
      if (node.nodeType === Node.TEXT_NODE) {
        if (node.data.includes("{")) node.data = put(node.data, values);
      } else if (node.nodeType === Node.ELEMENT_NODE) {
        if (node.dataset.if && !holds(node.dataset.if, values)) {
          node.remove();
          continue;
        }
        for (const { name, value } of [...node.attributes]) {
          if (value.includes("{")) node.setAttribute(name, put(value, values));
        }
        if (node.dataset.on === "true") node.selected = node.checked = true;
        if (node.dataset.each) repeat(node, values);
        else fill(node, values);
      }
    }
  }

  let painted = 0;
  const settle = (main) => {
    const turn = ++painted;
    main.classList.add("b-settling");
    setTimeout(() => { if (turn === painted) main.classList.remove("b-settling"); }, SETTLES);
  };

  // again: the same screen with other values, so the page stays where it was scrolled to and nobody waits.
  return (name, values, { again = false } = {}) => {
    const main = document.getElementById("content");
    const copy = document.getElementById(`t-${name}`).content.cloneNode(true);
    fill(copy, values);
    main.replaceChildren(copy);
    main.dataset.screen = name;
    if (again) return;
    settle(main);
    window.scrollTo(0, 0);
    main.querySelector("h1")?.focus({ preventScroll: true });
  };
})();

// The words of the page that a script has to choose.
bedside.word = (code) => document.querySelector(`#words [data-word="${CSS.escape(code)}"]`)?.textContent ?? "";
