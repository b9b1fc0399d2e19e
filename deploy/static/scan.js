// Progressive only: without it the form is posted and the page comes back with the answer.
// With it the focus never leaves the field, the answer comes without a new page, and it is heard.
(() => {
  "use strict";
  const field = () => document.querySelector("[data-scan-field]");
  const focus = () => { const input = field(); if (input) input.focus({ preventScroll: true }); };
  const pressed = (target) => target.closest("a, button, input, select, textarea, summary");

  document.addEventListener("click", (event) => { if (!pressed(event.target)) focus(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) focus(); });
  addEventListener("focus", focus);
  // A scanner types wherever the focus is: what is typed outside a control goes into the field.
  document.addEventListener("keydown", (event) => {
    const outside = event.target === document.body || event.target.id === "main";
    if (outside && event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) focus();
  });

  // Rising for a match, flat for a repeat, one short note for a question, low and rough for STOP: told apart with eyes elsewhere.
  const TONES = {
    matches: [["sine", 880, 0, .09], ["sine", 1320, .1, .14]],
    already: [["sine", 660, 0, .1], ["sine", 660, .16, .1]],
    ask: [["sine", 990, 0, .07]],
    stop: [["sawtooth", 180, 0, .22], ["sawtooth", 150, .28, .22], ["sawtooth", 120, .56, .4]],
  };
  let audio = null;
  const sound = (kind) => {
    if (!TONES[kind] || !("AudioContext" in window)) return;
    audio ??= new AudioContext();
    audio.resume();
    for (const [shape, pitch, after, length] of TONES[kind]) {
      const tone = audio.createOscillator();
      const loudness = audio.createGain();
      const start = audio.currentTime + after;
      tone.type = shape;
      tone.frequency.value = pitch;
      loudness.gain.setValueAtTime(.25, start);
      loudness.gain.setTargetAtTime(0, start + length - .03, .01);
      tone.connect(loudness).connect(audio.destination);
      tone.start(start);
      tone.stop(start + length + .05);
    }
  };

  const read = async (answer) => new DOMParser().parseFromString(await answer.text(), "text/html");
  const regionOf = (page) => page.querySelector("[data-scan-region]");
  const messagesOf = (page) => page.querySelector("main .messages")?.parentElement;
  const take = (page) => {
    const half = field().value;
    const fresh = messagesOf(page);
    // What an earlier act was told stays no longer over the answer to another scan.
    messagesOf(document)?.remove();
    if (fresh) document.querySelector("main").prepend(fresh);
    regionOf(document).replaceWith(regionOf(page));
    // The lock leads back to what is scanned now, not to what the page began with.
    const [lock, next] = [document, page].map((one) => one.querySelector(".head [formaction]"));
    if (lock && next) lock.setAttribute("formaction", next.getAttribute("formaction"));
    document.title = page.title;
    field().value = half;
    focus();
  };

  // What was sent with this form's key and got no answer.  The same text may go again with it, and
  // takes effect once; another text wants a form of its own.
  let unanswered = null;
  const aFormFor = async (text) => {
    if (unanswered === null || unanswered === text) return;
    const page = await read(await fetch(location.href));
    if (!regionOf(page)) throw new Error("no form");
    take(page);
    unanswered = null;
  };

  const part = (name, className, textContent) =>
    Object.assign(document.createElement(name), { className, textContent });

  // What got no answer, until it gets one: who scans on must not forget the one before.
  const lost = new Set();
  const named = () =>
    [...lost].map((text) => text.replace(/[^\x20-\x7e]+/g, " ").trim().slice(0, 60)).join("; ");
  const room = () => document.querySelector(".answer-room");
  const show = (said) => {
    if (!said) return;
    sound(said.dataset.answer);
    said.scrollIntoView({ block: "nearest" });  // a phone has less height than the page's head
  };

  // Scans that come while one is on its way wait in line: none is lost unsaid, none overtakes.
  const waiting = [];
  let busy = false;
  const next = async () => {
    if (busy || !waiting.length) return;
    busy = true;
    const text = waiting.shift();
    try {
      await aFormFor(text);
      unanswered = text;
      const form = document.querySelector("[data-scan-form]");
      const data = new FormData(form);
      data.set("text", text);
      const answer = await fetch(form.action, { method: "POST", body: data });
      if (answer.status >= 500) throw new Error("no answer");
      const page = await read(answer);
      if (!answer.ok || !regionOf(page)) { location.assign(answer.url); return; }
      unanswered = null;
      lost.delete(text);
      take(page);
      history.replaceState(null, "", answer.url);
      if (lost.size) room()?.append(part("p", "answer__do", `Still without an answer: ${named()}. Scan it again.`));
      show(regionOf(document).querySelector("[data-answer]"));
    } catch {
      // No answer is no answer: never let the last one stand for this scan.
      // Nor may the answers to those that wait cover it: they are not sent.
      for (const one of [text, ...waiting.splice(0)]) lost.add(one);
      const again = lost.size > 1 ? `Scan these ${lost.size} again: each counts once.` : "Scan it again: it counts once.";
      const said = part("section", "answer answer--stop", "");
      said.dataset.answer = "stop";
      said.append(
        part("p", "answer__word", "NO ANSWER"),
        part("p", "answer__title", named()),
        part("p", "answer__do", `The house could not be reached. ${again}`),
      );
      room().replaceChildren(said);
      show(said);
    } finally {
      busy = false;
      next();
    }
  };
  document.addEventListener("submit", (event) => {
    if (!event.target.matches("[data-scan-form]")) return;
    event.preventDefault();
    const input = field();
    // A key of the page says by press what could be typed; what stands half typed stays.
    const key = event.submitter?.name === "text" ? event.submitter.value : "";
    const said = key || input.value;
    if (said.trim()) waiting.push(said);
    if (!key) input.value = "";
    focus();
    next();
  });
  focus();
})();
