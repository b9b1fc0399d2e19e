// Progressive only: every page works without it.

// A long navigation folds on a narrow screen.
(() => {
  "use strict";
  const menu = document.querySelector("[data-menu]");
  if (!menu) return;
  const wide = matchMedia("(min-width: 48rem)");
  const fold = () => { menu.open = wide.matches; };
  fold();
  wide.addEventListener("change", fold);
})();

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

// Paper can't be unfolded: what only reads is printed open, but for the table beside a picture.
(() => {
  "use strict";
  let unfolded = [];
  addEventListener("beforeprint", () => {
    unfolded = [...document.querySelectorAll("main details:not([open])")].filter(
      (fold) => !fold.querySelector("form, input, select, textarea") && !fold.closest("figure, form"));
    for (const fold of unfolded) fold.open = true;
  });
  addEventListener("afterprint", () => {
    for (const fold of unfolded) fold.open = false;
  });
})();

// What may interrupt is asked for by every open page, so that a screen that nobody touches shows it too.
(() => {
  "use strict";
  const strip = document.querySelector("[data-alerts]");
  if (!strip || document.querySelector(".alerts")) return;
  let said = "";
  const look = async () => {
    try {
      const answer = await fetch(strip.dataset.alerts);
      if (!answer.ok || answer.redirected) return;
      const text = await answer.text();
      const plain = text.replace(/<input[^>]*>/g, "");
      if (plain === said) return;
      said = plain;
      strip.replaceChildren(...new DOMParser().parseFromString(text, "text/html").body.children);
    } catch { /* the page's own age says that the house is not reached */ }
  };
  look();
  setInterval(look, 30000);
})();
