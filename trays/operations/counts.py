"""Count a tray against its sheet.  Each line counts at once: cover is decided from what was said.

Each is one transaction.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.models import (
    Configuration,
    ConfigurationVersion,
    Count,
    CountLine,
    MissingLine,
    Tray,
    settings_of,
)
from trays.operations.bench import here
from trays.stages import Stage, stands


@transaction.atomic
def begin_count(*, tray: Tray, by: Person, now: datetime) -> Count:
    """The count that is open, or a new one to the sheet in force.

    From then on the tray is one of that sheet: what the sheet adds is missing until it is said to
    be there.  TrayRefused: elsewhere, not_here (only at inspection and assembly).
    """
    there = _at_assembly(tray, by)
    going = Count.objects.filter(tray=there, closed_at=None).first()
    if going is not None:
        return going
    version = sheet_in_force(there.configuration)
    if version.pk != there.version_id:
        _adopt(there, version)
    count = Count.objects.create(
        tray=there, version=version, seq=there.seq, opened_at=now, opened_by=by.user
    )
    CountLine.objects.bulk_create(
        CountLine(
            count=count,
            instrument_id=content.instrument_id,
            position=position,
            expected=content.quantity,
        )
        for position, content in enumerate(version.contents.all())
    )
    return count


def sheet_in_force(configuration: Configuration) -> ConfigurationVersion:
    """The highest number.  One query."""
    return configuration.versions.order_by("-number")[0]


def _at_assembly(tray: Tray, by: Person) -> Tray:
    there = here(tray, by)
    if there.stage != Stage.ASSEMBLY:
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing="counting",
            wanted=stands(Stage.ASSEMBLY),
        )
    return there


def _adopt(tray: Tray, version: ConfigurationVersion) -> None:
    """Another sheet for the tray, holding what it held: what it adds is missing."""
    lacking = dict(tray.missing_lines.values_list("instrument_id", "quantity"))
    held = {
        instrument: quantity - lacking.get(instrument, 0)
        for instrument, quantity in tray.version.contents.values_list("instrument_id", "quantity")
    }
    tray.missing_lines.all().delete()
    MissingLine.objects.bulk_create(
        MissingLine(tray=tray, instrument_id=instrument, quantity=short)
        for instrument, quantity in version.contents.values_list("instrument_id", "quantity")
        if (short := quantity - max(0, held.get(instrument, 0))) > 0
    )
    tray.version = version
    tray.save(update_fields=["version"])


@transaction.atomic
def say_line(
    *,
    count: Count,
    ref: str,
    present: int,
    by: Person,
    now: datetime,
    broken: int = 0,
    replaced_by: str = "",
    refilled: int = 0,
) -> CountLine:
    """So many of the instrument are there.  What is not is missing from the tray at once.

    `refilled`: so many of them were filled up now, from the LOT in `replaced_by`.  TrayRefused:
    elsewhere, not_here, count_closed, not_on_sheet, count_too_many, not_refilled.
    """
    there = _at_assembly(count.tray, by)
    _open(count)
    line = count.lines.filter(instrument__ref=ref).select_related("instrument").first()
    if line is None:
        raise TrayRefused("not_on_sheet", instrument=ref, tray=there.code)
    if present < 0 or broken < 0 or present + broken > line.expected:
        raise TrayRefused("count_too_many", instrument=ref, expected=line.expected)
    if refilled and not (line.instrument.refilled and replaced_by.strip()):
        raise TrayRefused("not_refilled", instrument=ref)
    line.refilled = min(refilled, present)
    line.present, line.broken, line.replaced_by = present, broken, replaced_by.strip()[:64]
    line.said_at, line.said_by = now, by.user
    line.save()
    of_tray = MissingLine.objects.filter(tray=there, instrument=line.instrument)
    if not line.missing:
        of_tray.delete()
    elif not of_tray.update(quantity=line.missing):
        MissingLine.objects.create(tray=there, instrument=line.instrument, quantity=line.missing)
    return line


def _open(count: Count) -> Count:
    there = Count.objects.select_for_update(of=("self",)).get(pk=count.pk)
    if there.closed_at is not None:
        raise TrayRefused("count_closed", tray=count.tray.code)
    return there


@transaction.atomic
def close_count(*, count: Count, by: Person, now: datetime, second: Person | None = None) -> Count:
    """Every line was said; the label may be printed.

    TrayRefused: elsewhere, not_here, count_closed, lines_open, second_missing (where the house
    asks for two initials).
    """
    there = _at_assembly(count.tray, by)
    count = _open(count)
    unsaid = list(count.lines.filter(present=None).values_list("instrument__ref", flat=True))
    if unsaid:
        raise TrayRefused("lines_open", tray=there.code, lines=unsaid[:5], number=len(unsaid))
    two = second is not None and second.user_id != by.user_id and second.site_id == by.site_id
    if not two and (second is not None or settings_of(by.site).two_initials):
        raise TrayRefused("second_missing", tray=there.code)
    count.closed_at, count.closed_by = now, by.user
    count.second = second.user if second is not None else None
    count.save(update_fields=["closed_at", "closed_by", "second"])
    return count


def closed_count(tray: Tray) -> Count | None:
    """The last count since the tray came to assembly last, if it is closed.  Two queries."""
    came = (
        tray.movements.filter(move__to_state=Stage.ASSEMBLY)
        .exclude(move__from_state=Stage.ASSEMBLY)
        .order_by("-seq")
        .values_list("seq", flat=True)
        .first()
    )
    last = Count.objects.filter(tray=tray, seq__gte=came or 0).first()
    return last if last is not None and last.closed_at is not None else None
