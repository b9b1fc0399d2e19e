"""The faults of a plan in words, what can be mended first.

A component that is no item of the catalogue is the cause; what the technique then looks for in
vain is mostly its consequence, and stands behind it.
"""

from __future__ import annotations

from collections.abc import Iterable

from scheduling.words import label_in_words

COMPONENT = {
    "ambiguous": "several of the catalogue are as planned; say which",
    "not in catalogue": "none of the catalogue is as planned",
}
IN_VAIN = "technique asks for one, catalogue holds none"


def faults_in_words(faults: Iterable[str]) -> tuple[str, ...]:
    """The engine's faults, said; each as a sentence without its full stop."""
    return tuple(_said(fault) for fault in sorted(faults, key=lambda one: (_rank(one), one)))


def _rank(fault: str) -> int:
    _, _, trouble = fault.rpartition(": ")
    return 0 if trouble in COMPONENT else 2 if trouble == IN_VAIN else 1


def _said(fault: str) -> str:
    role, _, trouble = fault.rpartition(": ")
    if trouble in COMPONENT:
        return f"{label_in_words(role)}: {COMPONENT[trouble]}"
    if trouble == IN_VAIN:
        return f"{label_in_words(role)}: the technique asks for one and finds none for this plan"
    return fault
