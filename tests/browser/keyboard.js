// What keeps a person without a mouse from the page that is open, and whether it has a control at
// all; the last one has the focus then.
() => {
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && !one.disabled;
  const said = (one) => one.outerHTML.slice(0, 120);
  const all = (what) => [...document.querySelectorAll(what)].filter(shown);
  const faults = [];
  const field = document.querySelector("[data-scan-field]");
  if (field && document.activeElement !== field) faults.push("the scanner does not type into its field");
  const controls = all("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]");
  for (const one of controls) {
    if (one.tabIndex > 0) faults.push(`out of the order of the page: ${said(one)}`);
    if (one.tabIndex < 0) {
      // A hidden first button only says what Enter means; "main" is where "skip" leads.
      if (one.id !== "main" && !one.matches("button.visually-hidden")) faults.push(`not reached: ${said(one)}`);
      continue;
    }
    one.focus({ preventScroll: true });
    if (document.activeElement !== one) { faults.push(`does not keep the focus: ${said(one)}`); continue; }
    const rings = [getComputedStyle(one), getComputedStyle(one, "::after")];
    if (one.closest("label")) rings.push(getComputedStyle(one.closest("label")));
    if (!rings.some((ring) => ring.outlineStyle !== "none" && parseFloat(ring.outlineWidth) >= 2)) {
      faults.push(`no visible focus: ${said(one)}`);
    }
  }
  for (const form of all("form")) {
    if (![...form.elements].some((one) => one.type === "submit")) faults.push(`Enter does nothing: ${said(form)}`);
  }
  const last = controls.filter((one) => one.tabIndex === 0).at(-1);
  if (last) last.focus();
  return [faults, Boolean(last)];
}
