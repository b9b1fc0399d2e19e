"""What a technique may refer to: the roles and attributes that the site's catalogue has."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from deploy.kit.attributes import Value
from deploy.kit.catalogue import CatalogueRow
from deploy.kit.models import Site
from implants.models import Implant
from trays.models import Configuration, Instrument

Stated = Mapping[str, frozenset[Value]]
"""Attribute (and `ref`) → the values that rows of one role have."""


@dataclass(frozen=True, slots=True)
class KnownCatalogue:
    """By role: what instruments and implants state.  `kinds`: configuration code → kind."""

    instruments: Mapping[str, Stated] = field(default_factory=dict)
    implants: Mapping[str, Stated] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)

    def of_role(self, role: str) -> Stated | None:
        """What instruments and implants of the role state; None where there is neither."""
        found = [rows[role] for rows in (self.instruments, self.implants) if role in rows]
        if not found:
            return None
        keys = {key for stated in found for key in stated}
        return {key: frozenset().union(*(s.get(key, ()) for s in found)) for key in keys}


def known_catalogue(site: Site) -> KnownCatalogue:
    """The site's catalogue.  Three queries."""
    return KnownCatalogue(
        instruments=_stated(Instrument.objects.filter(site=site)),
        implants=_stated(Implant.objects.filter(site=site)),
        kinds=dict(Configuration.objects.filter(site=site).values_list("code", "kind")),
    )


def _stated(rows: Iterable[CatalogueRow]) -> dict[str, Stated]:
    found: dict[str, dict[str, set[Value]]] = {}
    for row in rows:
        of_role = found.setdefault(row.role, {})
        for key, value in (("ref", row.ref), *row.exact_attributes().items()):
            of_role.setdefault(key, set()).add(value)
    return {
        role: {key: frozenset(values) for key, values in stated.items()}
        for role, stated in found.items()
    }
