// Progressive only: every page works without it.
// An open page gets older while the house moves on; after one minute it says so, after five it is STALE.
(() => {
  "use strict";
  const marks = document.querySelectorAll("[data-age]");
  if (!marks.length) return;
  const opened = Date.now();
  const say = () => {
    const minutes = Math.floor((Date.now() - opened) / 60000);
    if (minutes < 1) return;
    const stale = minutes >= 5;
    document.body.classList.toggle("is-old", !stale);
    document.body.classList.toggle("is-stale", stale);
    for (const mark of marks) {
      mark.hidden = false;
      mark.textContent = stale
        ? `STALE: this page is ${minutes} min old. Load it again.`
        : `(page is ${minutes} min old)`;
    }
  };
  setInterval(say, 10000);
  document.addEventListener("visibilitychange", say);
  // A page that the browser brings back from its memory shows an old verdict: load it afresh.
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
})();
