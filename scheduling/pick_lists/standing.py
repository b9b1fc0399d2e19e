"""Printed lists that no longer hold: what was printed against what would be printed now."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from deploy.kit.models import Site
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.models import PickListVersion
from scheduling.pick_lists.changes import Difference, changes
from scheduling.pick_lists.content import content_of
from scheduling.pick_lists.values import Content
from scheduling.pick_lists.versions import content_as_printed
from trays.models import Tray


@dataclass(frozen=True, slots=True)
class Printed:
    """The newest version of a list, and the cases on it."""

    version: PickListVersion
    content: Content

    @property
    def cases(self) -> frozenset[str]:
        return frozenset(section.case for section in self.content.sections)


@dataclass(frozen=True, slots=True)
class VoidList:
    """A printed list, and what is different now."""

    version: PickListVersion
    title: str
    changes: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class PrintedLists:
    """The lists of some cases as they are on paper.  `assets`: tray code → GIAI."""

    printed: tuple[Printed, ...]
    assets: dict[str, str]
    address: str

    def void(self, scenario: Scenario, report: Report) -> tuple[VoidList, ...]:
        """Those that would be printed otherwise now.  No query."""
        found = []
        for one in self.printed:
            booked = [case for case in one.cases if case in scenario.cases]
            now = content_of(
                scenario,
                report,
                booked,
                address=self.address,
                assets=self.assets,
                title=one.content.title,
                is_day=one.content.is_day,
            )
            if changed := changes(one.content, now):
                found.append(VoidList(one.version, one.content.title, changed))
        return tuple(found)


def printed_lists(site: Site, refs: Collection[str]) -> PrintedLists:
    """The newest printed version of every list that has one of the cases on it.  3 queries."""
    newest: dict[int, PickListVersion] = {}
    versions = PickListVersion.objects.filter(
        pick_list__site=site, pick_list__versions__lines__case__ref__in=refs
    )
    for version in versions.select_related("pick_list__site").order_by("number").distinct():
        newest[version.pick_list_id] = version
    read = [Printed(version, content_as_printed(version)) for version in newest.values()]
    assets = dict(Tray.objects.filter(site=site).values_list("code", "asset")) if read else {}
    return PrintedLists(
        tuple(
            sorted(
                (one for one in read if one.cases & set(refs)),
                key=lambda one: one.version.pick_list.code,
            )
        ),
        assets,
        site.address,
    )
