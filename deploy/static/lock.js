// Progressive only: without it the server locks an idle session at its next request.
// With it an idle page covers itself, keeps what was typed, and opens again for the same person.
(() => {
  "use strict";
  const cover = document.querySelector("[data-lock]");
  if (!cover) return;
  const form = cover.querySelector("[data-unlock]");
  const secret = form.elements.secret;
  const said = cover.querySelector("[data-said]");
  const heading = cover.querySelector("[data-lock-title]");
  const { who, lockUrl, hereUrl } = cover.dataset;
  const idle = Number(cover.dataset.idle) * 1000;
  const title = document.title;
  const ASKS = { Accept: "application/json" };
  const token = () => new URLSearchParams({ csrfmiddlewaretoken: form.elements.csrfmiddlewaretoken.value });
  const tell = (url) => fetch(url, { method: "POST", body: token(), headers: ASKS, keepalive: true });

  // -- what was typed -------------------------------------------------------------------------
  // Kept in this tab alone, for when the page is left at the lock and opened again.
  const KEPT = `muster-kept:${location.pathname}`;
  const TYPED = "main textarea, main select, main input:not([type=password], [type=hidden], [type=file], [type=submit])";
  const tick = (field) => field.type === "checkbox" || field.type === "radio";
  const changed = (field) =>
    field.tagName === "SELECT" ? [...field.options].some((one) => one.selected !== one.defaultSelected)
      : tick(field) ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
  const fields = () => [...document.querySelectorAll(TYPED)];
  const keep = () => {
    const kept = fields().map((field, place) => [place, field.name, tick(field) ? field.checked : field.value, changed(field)]);
    const unsent = kept.filter((one) => one[3]);
    if (unsent.length) sessionStorage.setItem(KEPT, JSON.stringify(unsent));
  };
  const bringBack = () => {
    const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "[]");
    sessionStorage.removeItem(KEPT);
    const found = fields();
    const fits = kept.filter(([place, name]) => found[place]?.name === name);
    if (!fits.length) return;
    for (const [place, , value] of fits) {
      if (tick(found[place])) found[place].checked = value; else found[place].value = value;
    }
    document.querySelector("main").prepend(Object.assign(document.createElement("p"), {
      className: "note note--strong kept",
      textContent: "What was typed here before the lock is back, not sent. Check it before you send it.",
    }));
  };

  // -- the cover ------------------------------------------------------------------------------
  let waiting = null;  // a form that a session which only looks wanted to send
  const isCovered = () => !cover.hidden;
  const coverUp = (words) => {
    if (isCovered()) return;
    heading.textContent = words;
    document.title = "Locked · Muster";
    document.documentElement.classList.add("is-locked");
    cover.hidden = false;
    said.hidden = true;
    secret.value = "";
    secret.focus();
  };
  const uncover = () => {
    document.title = title;
    document.documentElement.classList.remove("is-locked");
    cover.hidden = true;
    secret.value = "";
    seen = Date.now();
  };

  // -- idle, in all tabs together -------------------------------------------------------------
  const SEEN = `muster-seen:${who}`;
  const LOCK = `muster-lock:${who}`;
  let seen = Date.now();
  let told = Date.now();
  const lastSeen = () => Math.max(seen, Number(localStorage.getItem(SEEN) ?? 0));
  const lock = () => {
    coverUp("Locked");
    localStorage.setItem(LOCK, `locked ${Date.now()}`);
    tell(lockUrl).catch(() => {});  // unreachable: the server's own clock locks it
  };
  const look = () => { if (!isCovered() && Date.now() - lastSeen() >= idle) lock(); };
  const work = () => {
    look();
    const now = Date.now();
    if (isCovered() || now - seen < 1000) return;
    seen = now;
    localStorage.setItem(SEEN, String(now));
    if (now - told < idle / 4) return;
    told = now;  // whoever types for long without sending is not idle to the server either
    tell(hereUrl).then((answer) => { if (answer.status === 401) lock(); }).catch(() => {});
  };
  for (const sign of ["keydown", "pointerdown", "pointermove", "wheel", "touchstart", "input"]) {
    addEventListener(sign, work, { capture: true, passive: true });
  }
  // Timers sleep with the machine: look again on waking.
  for (const sign of ["visibilitychange", "focus", "pageshow"]) addEventListener(sign, look, true);
  setInterval(look, Math.min(5000, idle / 4));
  addEventListener("storage", ({ key, newValue }) => {
    if (key !== LOCK || !newValue) return;
    if (newValue.startsWith("locked")) coverUp("Locked"); else if (!waiting) uncover();
  });
  localStorage.setItem(SEEN, String(seen));

  // -- opening it again -----------------------------------------------------------------------
  const refused = (words) => {
    said.textContent = words;
    said.hidden = false;
    secret.value = "";
    secret.focus();
  };
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    let answer;
    try {
      answer = await fetch(form.action, { method: "POST", body: new FormData(form), headers: ASKS });
    } catch {
      refused("NO ANSWER: the house could not be reached. Try again.");
      return;
    }
    if (!answer.ok || !answer.headers.get("content-type").includes("json")) {
      keep();  // over, or somebody else's by now: the server says which
      location.reload();
      return;
    }
    const { open, say } = await answer.json();
    if (!open) { refused(say); return; }
    delete cover.dataset.looking;
    document.querySelector("[data-looking-mark]")?.remove();
    uncover();
    localStorage.setItem(LOCK, `open ${Date.now()}`);
    if (waiting) { const { sent, by } = waiting; waiting = null; sent.requestSubmit(by); }
  });
  cover.querySelector("[data-another]").addEventListener("click", keep);

  // A badge alone may look: what would act asks for the PIN first, and is sent after it.
  addEventListener("submit", (event) => {
    const sent = event.target;
    if (cover.dataset.looking === undefined || sent.method !== "post" || !sent.closest("main")) return;
    if (new URL(sent.action, location.href).pathname === new URL(form.action).pathname) return;
    if (sent.action.endsWith("/switch/")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    waiting = { sent, by: event.submitter };
    coverUp("To act, give your PIN");
  }, true);

  bringBack();
})();
