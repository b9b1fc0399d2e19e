"""Trays that are lent: with their lender, expected, received, gone back.  Each is one transaction.

Received is never ready: a lent tray goes through the whole cycle of this house before its first
use here, whatever its lender says of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.assets import assets_of
from trays.errors import TrayRefused
from trays.forecast import Forecast
from trays.hold_kinds import HoldKind
from trays.models import Configuration, Hold, Instrument, MissingLine, Tray
from trays.models.tray import Ownership
from trays.operations.bench import here
from trays.operations.moves import enter_tray, move_tray
from trays.stages import HELD_STAGES, Stage

NOT_TO_BE_SENT = (Stage.ISSUED, Stage.IN_THEATRE, Stage.RETURNED_USED, Stage.CLEANING)
"""In use, or not yet clean: nothing that was used leaves the house before it is decontaminated."""


@transaction.atomic
def enter_lent_tray(
    *,
    configuration: Configuration,
    code: str,
    by: Person,
    now: datetime,
    expected_at: datetime | None = None,
) -> Tray:
    """A tray that its lender has still.  TrayRefused: no_count_sheet."""
    version = configuration.versions.order_by("-number").first()
    if version is None:
        raise TrayRefused("no_count_sheet", configuration=configuration.code)
    taken = Tray.objects.values_list("asset", flat=True)
    tray = Tray(
        site=by.site,
        code=code,
        asset=assets_of(by.site.asset_prefix, [code], taken)[code],
        configuration=configuration,
        version=version,
        owner=Ownership.LOAN,
    )
    return enter_tray(tray=tray, stage=Stage.WITH_SUPPLIER, expected_at=expected_at, by=by, now=now)


@transaction.atomic
def expect_tray(*, tray: Tray, expected_at: datetime | None, by: Person, now: datetime) -> Tray:
    """When a lent tray should be here; None: nobody knows.  TrayRefused: not_with_lender."""
    there = _with_lender(tray, by)
    return move_tray(tray=there, stage=Stage.WITH_SUPPLIER, expected_at=expected_at, by=by, now=now)


@transaction.atomic
def receive_lent_tray(
    *,
    tray: Tray,
    missing: Mapping[str, int],
    faults: str,
    by: Person,
    now: datetime,
    forecast: Forecast,
    asset: str = "",
) -> Tray:
    """The tray is here, with what it lacks of its count sheet: {REF: quantity}.

    It goes to cleaning and through the whole cycle; where `faults` says what is wrong with it, to
    quarantine, until a named person lifts that.  `asset`: what its own tag says.
    TrayRefused: not_with_lender, not_on_sheet, count_too_many, tag_taken.
    """
    there = _with_lender(tray, by)
    sheet = dict(there.version.contents.values_list("instrument__ref", "quantity"))
    for ref, quantity in missing.items():
        if ref not in sheet:
            raise TrayRefused("not_on_sheet", instrument=ref, tray=there.code)
        if not 0 <= quantity <= sheet[ref]:
            raise TrayRefused("count_too_many", expected=sheet[ref], instrument=ref)
    _tag(there, asset)
    there.missing_lines.all().delete()
    instruments = Instrument.objects.filter(site=there.site, ref__in=missing)
    MissingLine.objects.bulk_create(
        MissingLine(tray=there, instrument=one, quantity=missing[one.ref])
        for one in instruments
        if missing[one.ref]
    )
    if not faults:
        there.ready_at = None  # What was reckoned for another visit says nothing of this one.
        ready_at = forecast(there, Stage.CLEANING)
        return move_tray(tray=there, stage=Stage.CLEANING, ready_at=ready_at, by=by, now=now)
    note = faults[:80]
    held = move_tray(tray=there, stage=Stage.QUARANTINE, reason=note, by=by, now=now)
    Hold.objects.create(tray=held, kind=HoldKind.OTHER, note=note, at=now, by=by.user)
    return held


@transaction.atomic
def send_lent_tray_back(*, tray: Tray, by: Person, now: datetime) -> Tray:
    """TrayRefused: goes_back_clean (it is in use, or was used and is not cleaned yet)."""
    there = here(tray, by)
    if there.stage in NOT_TO_BE_SENT:
        raise TrayRefused("goes_back_clean", tray=there.code, stage=there.stage)
    if there.stage in HELD_STAGES:
        open_holds = Hold.objects.filter(tray=there, lifted_at=None)
        open_holds.update(lifted_at=now, lifted_by=by.user, lifted_note="gone back to its lender")
    return move_tray(tray=there, stage=Stage.WITH_SUPPLIER, by=by, now=now)


def _with_lender(tray: Tray, by: Person) -> Tray:
    there = here(tray, by)
    if there.owner != Ownership.LOAN or there.stage != Stage.WITH_SUPPLIER:
        raise TrayRefused("not_with_lender", tray=there.code, stage=there.stage)
    return there


def _tag(tray: Tray, asset: str) -> None:
    asset = asset.strip()[:30]
    if not asset or asset == tray.asset:
        return
    if Tray.objects.filter(asset=asset).exclude(pk=tray.pk).exists():
        raise TrayRefused("tag_taken", asset=asset)
    tray.asset = asset
    tray.save(update_fields=["asset"])
