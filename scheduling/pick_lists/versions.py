"""Printed versions as they are shown again: on paper, on screen, beside a newer one."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Max

from scheduling.models import PickList, PickListVersion
from scheduling.pick_lists.links import list_link
from scheduling.pick_lists.record import from_record
from scheduling.pick_lists.values import Content, Printing


def content_as_printed(version: PickListVersion) -> Content:
    """No query where `pick_list__site` was fetched with the version."""
    return from_record(version.content, version.pick_list.site.zone)


def printing(version: PickListVersion, *, printed_at: datetime) -> Printing:
    """The version for paper.  Its words, verdict included, are as of when the version was made."""
    site = version.pick_list.site
    return Printing(
        site=site.name,
        code=version.pick_list.code,
        number=version.number,
        as_of=site.local(version.printed_at),
        printed_at=site.local(printed_at),
        link=list_link(site.address, version.pick_list.code, version.number),
        content=content_as_printed(version),
        clock_is_real=site.clock_is_real,
    )


def newest_number(pick_list: PickList) -> int:
    """One query.  As for the newest version, there is one."""
    newest: int = pick_list.versions.aggregate(newest=Max("number"))["newest"]
    return newest


def newest_version(pick_list: PickList) -> PickListVersion:
    """One query.  A list has at least one version: it is made with its first."""
    return (
        pick_list.versions.select_related("pick_list__site", "printed_by")
        .order_by("-number")[:1]
        .get()
    )
