"""The cautions that every verdict carries, on paper and in a terminal as on the pages."""

from __future__ import annotations

LOGISTICS_AID = "Logistics aid: check the physical tray, label, use-by date and indicator."
DECISION_SUPPORT = (
    "Decision support for stock and readiness. It does not choose implants, sizes or methods; the "
    "surgeon does. Follow the manufacturer's instructions, local policy and the law; a person "
    "releases loads and confirms cases."
)
INVENTED = "Not the real time: this site's clock is set. Nothing here is about a real operation."
