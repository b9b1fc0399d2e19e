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
    button.hidden = true;
    how.hidden = false;
    look();
    try {
      const answer = await fetch(form.action, { method: "POST", body: new FormData(form) });
      ended = true;
      location.assign(answer.url);
    } catch {
      ended = true;
      button.hidden = false;
      how.hidden = true;
      form.append(Object.assign(document.createElement("p"), {
        className: "note note--strong",
        textContent: "The house could not be reached. Load this page again to see what was done.",
      }));
    }
  });
  if ("startAtOnce" in form.dataset) form.requestSubmit();
})();
