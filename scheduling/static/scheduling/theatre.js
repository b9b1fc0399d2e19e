// After a touch on what the scan says, the scanner types into the field again.  From the keyboard
// (detail 0) the focus stays where it is.
document.addEventListener("click", (event) => {
  "use strict";
  if (event.detail && event.target.matches('input[name="act"]')) {
    document.querySelector("[data-scan-field]").focus({ preventScroll: true });
  }
});
