// Progressive only: without it “Show what this does” posts the form and the page comes back.
// With it every change is asked at once.  From the moment of a change the verdict before it is no
// longer shown, and an answer that is not to the newest question is thrown away.
(() => {
  "use strict";
  const form = document.querySelector("[data-preview-form]");
  if (!form) return;
  const fields = () => form.querySelector("[data-fields]");
  const isTyping = (element) => Boolean(element) && element.matches("input[type=text], textarea");
  const isSilent = (element) => element.closest("[data-silent]") !== null;
  let asked = 0;
  let later = 0;
  let underWay = null;

  const ask = async () => {
    clearTimeout(later);
    const number = ++asked;
    underWay?.abort();
    underWay = new AbortController();
    form.dataset.state = "waiting";
    const data = new FormData(form);
    data.delete("request_key"); // Nothing is done that could be done twice.
    try {
      const answer = await fetch(form.dataset.preview, {
        method: "POST", body: data, signal: underWay.signal,
      });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (number !== asked) return;
      if (!answer.ok || !page.querySelector("[data-preview-answer]")) throw new Error("no answer");
      take(page);
      form.dataset.state = "known";
    } catch {
      if (number === asked) form.dataset.state = "failed";
    }
  };

  // Part by part, so that what is being typed stays as it is; the focus stays where it was.
  const take = (page) => {
    const focus = document.activeElement;
    const parts = [...page.querySelectorAll("[data-part]")];
    const fresh = page.querySelector("[data-fields]");
    if (fresh && fresh.dataset.fields !== fields().dataset.fields) {
      fields().replaceWith(fresh.cloneNode(true));
    } else if (fresh) {
      const ids = new Set(parts.map((part) => part.id));
      for (const part of fields().querySelectorAll("[data-part]")) {
        if (!ids.has(part.id) && !part.contains(focus)) part.remove();
      }
    }
    for (const part of parts) {
      const here = document.getElementById(part.id);
      if (!here) { add(part); continue; }
      here.hidden = part.hidden;
      if (isTyping(focus) && here.contains(focus)) continue;
      if (here.innerHTML !== part.innerHTML) here.replaceChildren(...part.childNodes);
    }
    const also = document.getElementById("also");
    if (also) also.value = "";
    if (focus?.id && document.activeElement !== focus) document.getElementById(focus.id)?.focus();
  };

  // One more component: it stands after the others.
  const add = (part) => {
    const shown = fields().querySelectorAll("fieldset[data-part]");
    if (shown.length) shown[shown.length - 1].after(part); else fields().prepend(part);
    part.querySelector("select")?.focus();
  };

  form.addEventListener("change", (event) => { if (!isSilent(event.target)) ask(); });
  form.addEventListener("input", (event) => {
    if (!isTyping(event.target) || isSilent(event.target)) return;
    form.dataset.state = "waiting";
    asked += 1;
    clearTimeout(later);
    later = setTimeout(ask, 300);
  });
})();
