"""Expected refusals about boxes."""

from __future__ import annotations

from deploy.kit.errors import Refused


class UnitRefused(Refused):
    sentences = {
        "unit_elsewhere": "Box {unit} belongs to another site.",
        "unit_picked": "Box {unit} is picked for case {other}.",
        "unit_expired": "Box {unit}: its use-by date was {expiry}.",
        "unit_expired_override": "Box {unit}: its use-by date was {expiry}. Recording it takes a "
        "reason and a second person.",
    }
