(() => {
  "use strict";
  // What the scan says stays as it was last chosen, also where an answer to an earlier scan brings
  // the form anew.
  let chosen = null;
  document.addEventListener("change", (event) => {
    if (event.target.name === "act") chosen = event.target.value;
  });
  const keep = () => {
    const acts = [...document.querySelectorAll('input[name="act"]')];
    const act = acts.find((each) => each.value === chosen);
    if (act && !act.checked) act.checked = true;
  };
  new MutationObserver(keep).observe(document.getElementById("main"), { childList: true, subtree: true });

  // After a touch on it the scanner types into the field again.  From the keyboard (detail 0) the
  // focus stays where it is.
  document.addEventListener("click", (event) => {
    if (event.detail && event.target.matches('input[name="act"]')) {
      document.querySelector("[data-scan-field]").focus({ preventScroll: true });
    }
  });
})();
