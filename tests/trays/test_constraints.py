"""What the database itself refuses, whatever the code above it does."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction

from deploy.kit import guards
from deploy.kit.models import Site
from tests import factories
from tests.factories import NOW
from trays.models import Configuration, Instrument, MissingLine, Tray
from trays.stages import HELD_STAGES, ON_SITE_STAGES, Stage


@pytest.fixture
def tray(site: Site) -> Tray:
    reamer = factories.instrument(site)
    return factories.tray(factories.configuration(site, contents={reamer: 1}))


def refused(write) -> bool:
    try:
        with transaction.atomic():
            write()
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize("field", ["ref", "role"])
def test_an_instrument_without_a_name_or_a_role(tray, field):
    assert refused(lambda: Instrument.objects.update(**{field: ""}))


def test_a_reference_twice_at_a_site_but_not_at_two(tray, stranger):
    assert refused(lambda: factories.instrument(tray.site))
    assert not refused(lambda: factories.instrument(stranger.site))


@pytest.mark.parametrize(
    ("turnaround", "fast_track", "is_refused"),
    [(0, None, True), (1, None, False), (60, 61, True), (60, 60, False)],
)
def test_turnarounds(tray, turnaround, fast_track, is_refused):
    write = Configuration.objects.update
    assert is_refused == refused(
        lambda: write(turnaround_minutes=turnaround, fast_track_minutes=fast_track)
    )


def test_a_count_sheet_has_an_instrument_once_and_at_least_one_of_it(tray):
    line = tray.version.contents.get()
    assert refused(lambda: tray.version.contents.create(instrument=line.instrument))
    assert refused(lambda: tray.version.contents.update(quantity=0))


def test_a_version_number_is_given_once(tray):
    assert refused(lambda: tray.configuration.versions.create(number=1, made_at=NOW))


def test_a_code_and_an_asset_are_given_once(tray):
    assert refused(lambda: factories.tray(tray.version, asset="another"))
    assert refused(lambda: factories.tray(tray.version, "BASE/2", asset=tray.asset))


def test_an_instrument_is_missing_once_and_at_least_one_of_it(tray):
    reamer = tray.version.contents.get().instrument
    assert refused(lambda: MissingLine.objects.create(tray=tray, instrument=reamer, quantity=0))
    tray.missing_lines.create(instrument=reamer)
    assert refused(lambda: tray.missing_lines.create(instrument=reamer))


@pytest.fixture
def by_hand(tray: Tray) -> None:
    """What a movement would set may be set without one."""
    guards.lift(connection, ["trays_tray_changes_by_movement"])


def stands(stage: Stage, *, ready: bool, expected: bool) -> None:
    Tray.objects.update(
        stage=stage, ready_at=NOW if ready else None, expected_at=NOW if expected else None
    )


@pytest.mark.parametrize("stage", ON_SITE_STAGES)
def test_a_tray_on_site_is_ready_at_a_time_and_not_expected(by_hand, stage):
    assert not refused(lambda: stands(stage, ready=True, expected=False))
    assert refused(lambda: stands(stage, ready=False, expected=False))
    assert refused(lambda: stands(stage, ready=True, expected=True))


@pytest.mark.parametrize("stage", HELD_STAGES)
def test_a_tray_on_hold_is_not_ready_and_only_a_loan_is_expected(by_hand, stage):
    assert not refused(lambda: stands(stage, ready=False, expected=False))
    assert refused(lambda: stands(stage, ready=True, expected=False))
    is_loan = stage == Stage.WITH_SUPPLIER
    assert is_loan != refused(lambda: stands(stage, ready=False, expected=True))
