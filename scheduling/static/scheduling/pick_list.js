// Progressive only: without it the browser's own menu prints.
(() => {
  "use strict";
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => print());
  }
})();
