// Progressive only: without it the button is pressed and the page comes back when the work is done.
// With it a long work shows how far it is.
(() => {
  "use strict";
  const form = document.querySelector("[data-long-work]");
  if (!form) return;
  const button = form.querySelector("button");
  const how = form.querySelector(".long-work__how");
  const bar = how.querySelector("progress");
  const count = how.querySelector("[data-count]");
  let ended = false;
  const failed = (said) => {
    button.hidden = false;
    how.hidden = true;
    form.querySelector(".note[role=alert]")?.remove();
    form.append(Object.assign(document.createElement("p"), {
      className: "note note--strong",
      role: "alert",
      textContent: said,
    }));
  };

  const look = async () => {
    if (ended) return;
    try {
      const { read, all } = await (await fetch(form.dataset.progress)).json();
      if (all) {
        bar.max = all;
        bar.value = read;
        count.textContent = `${read} of ${all} rows`;
      }
    } catch { /* the next look says */ }
    if (!ended) setTimeout(look, 700);
  };
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    ended = false;
    button.hidden = true;
    how.hidden = false;
    look();
    try {
      // Not followed: the page that the answer leads to says what was refused, and says it once.
      const answer = await fetch(form.action, {
        method: "POST", body: new FormData(form), redirect: "manual",
      });
      ended = true;
      if (answer.type === "opaqueredirect") location.assign(location.pathname);
      else failed("Muster failed at this. Load this page again to see what was done; if it fails "
        + "again, tell whoever looks after Muster here: the fault is recorded for them.");
    } catch {
      ended = true;
      failed("The house could not be reached. Load this page again to see what was done.");
    }
  });
  if ("startAtOnce" in form.dataset) form.requestSubmit();
})();
