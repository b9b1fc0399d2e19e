// The screen on the wall fetches itself again and says how old it is: grey after one minute without
// an answer, STALE after five.  It never shows an age that flatters: the count begins with the last answer.
(() => {
  "use strict";
  const EVERY = 20000, GREY = 60, STALE = 300;
  const age = document.querySelector("[data-wall-age]");
  let answered = Date.now();
  const say = () => {
    const seconds = Math.floor((Date.now() - answered) / 1000);
    const asOf = document.querySelector("[data-wall-region]").dataset.asOf;
    const stale = seconds >= STALE;
    document.body.classList.toggle("is-grey", seconds >= GREY && !stale);
    document.body.classList.toggle("is-stale-wall", stale);
    const old = seconds < 60 ? `${seconds} s` : `${Math.floor(seconds / 60)} min`;
    age.textContent = stale ? `STALE: ${old} old, as of ${asOf}` : `as of ${asOf}, ${old} old`;
  };
  const fetchAgain = async () => {
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.querySelector("[data-wall-region]");
      if (!answer.ok || !fresh) return;  // Logged out, or an error: it grows old, and says so.
      document.querySelector("[data-wall-region]").replaceWith(fresh);
      answered = Date.now();
    } catch { /* The house cannot be reached: the same. */ }
    say();
  };
  setInterval(say, 1000);
  setInterval(fetchAgain, EVERY);
  say();
})();
