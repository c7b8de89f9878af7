// A stopwatch beside the number of a step measured in seconds. The number can always be typed instead.
"use strict";

for (const box of document.querySelectorAll("[data-stopwatch]")) {
  const field = document.getElementById(box.dataset.stopwatch);
  const clock = box.querySelector("[data-clock]");
  const button = box.querySelector("[data-toggle]");
  const key = `stopwatch ${location.pathname}`;
  const started = () => Number(sessionStorage.getItem(key)) || 0;
  const seconds = () => ((Date.now() - started()) / 1000).toFixed(1);
  let ticking = 0;

  const run = () => {
    button.textContent = box.dataset.stop;
    ticking = setInterval(() => { clock.textContent = seconds(); }, 100);
  };
  const end = () => {
    clearInterval(ticking);
    ticking = 0;
    clock.textContent = field.value = seconds();
    sessionStorage.removeItem(key);
    button.textContent = box.dataset.again;
  };
  button.addEventListener("click", () => {
    if (ticking) {
      end();
    } else {
      sessionStorage.setItem(key, Date.now());
      run();
    }
  });
  if (Number(field.value) > 0) clock.textContent = field.value;
  // The clock is a point in time, so it runs on over a locked screen or a reload.
  if (started()) run();
  box.hidden = false;
}
