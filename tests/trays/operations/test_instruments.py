"""Instruments between trays, out of them and back: both sides are told, and an entry is kept."""

from __future__ import annotations

from typing import Any

import pytest

from deploy.kit.models import AppendOnlyError, Person, Site
from tests import factories
from tests.factories import NOW
from trays.errors import TrayRefused
from trays.instruments_away import away, away_from_or_in, entries_of
from trays.models import Instrument, InstrumentEntry, Tray, Way
from trays.operations.counts import begin_count, close_count, say_line
from trays.operations.instruments import (
    move_instrument,
    put_instrument_back,
    take_instrument_out,
)
from trays.operations.moves import move_tray
from trays.stages import Stage


@pytest.fixture
def reamer(site: Site) -> Instrument:
    return factories.instrument(site, "R14", diameter=14)


@pytest.fixture
def trays(site: Site, reamer: Instrument) -> tuple[Tray, Tray]:
    """Base and add-on at assembly; both sheets have the reamer, the add-on lacks its own."""
    base = factories.tray(
        factories.configuration(site, contents={reamer: 1}), stage=Stage.ASSEMBLY, ready_at=NOW
    )
    version = factories.configuration(site, "ADD", contents={reamer: 2}, kind="add-on")
    add = factories.tray(version, "ADD/1", stage=Stage.ASSEMBLY, ready_at=NOW)
    add.missing_lines.create(instrument=reamer, quantity=1)
    return base, add


def lacks(tray: Tray) -> dict[str, int]:
    return dict(tray.missing_lines.values_list("instrument__ref", "quantity"))


def refused(operation: Any, **asked: Any) -> str:
    with pytest.raises(TrayRefused) as refusal:
        operation(**asked)
    return refusal.value.code


def test_what_came_back_mixed_goes_where_it_belongs(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any], site: Site
) -> None:
    base, add = trays
    move_instrument(instrument=reamer, from_tray=base, to_tray=add, **who)
    # The base tray gave away what was never its own.
    assert (lacks(base), lacks(add)) == ({}, {})
    for tray in trays:
        (entry,) = entries_of(tray)
        assert (entry.way, entry.from_tray, entry.to_tray) == (Way.MIXED, base, add)
        assert (entry.by, entry.at) == (who["by"].user, NOW)
    assert not away(site)


def test_what_is_borrowed_is_missing_from_the_lender_until_it_is_put_back(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any]
) -> None:
    base, add = trays
    lent: dict[str, Any] = {"instrument": reamer, "from_tray": base, "to_tray": add}
    entry = move_instrument(borrowed=True, **lent, **who)
    assert (lacks(base), lacks(add)) == ({"R14": 1}, {})
    assert list(away_from_or_in(base)) == list(away_from_or_in(add)) == [entry]
    assert refused(move_instrument, borrowed=True, **lent, **who) == "not_in_tray"
    put_instrument_back(entry=entry, **who)
    assert (lacks(base), lacks(add)) == ({}, {"R14": 1})
    assert not away_from_or_in(add)
    assert refused(put_instrument_back, entry=entry, **who) == "not_away"
    assert [one.way for one in entries_of(base)] == ["put back", "borrowed"]


def test_a_tray_borrows_only_what_it_lacks(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any]
) -> None:
    base, add = trays
    lent: dict[str, Any] = {"instrument": reamer, "from_tray": add, "to_tray": base}
    assert refused(move_instrument, borrowed=True, **lent, **who) == "nothing_missing"


def test_an_open_count_follows_and_a_closed_one_is_begun_anew_first(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any]
) -> None:
    base, add = trays
    of_base, of_add = begin_count(tray=base, **who), begin_count(tray=add, **who)
    say_line(count=of_base, ref="R14", present=1, **who)
    say_line(count=of_add, ref="R14", present=1, **who)
    lent: dict[str, Any] = {"instrument": reamer, "from_tray": base, "to_tray": add}
    entry = move_instrument(borrowed=True, **lent, **who)
    assert (of_base.lines.get().present, of_add.lines.get().present) == (0, 2)
    close_count(count=of_add, **who)
    assert refused(put_instrument_back, entry=entry, **who) == "count_closed"
    begin_count(tray=add, **who)
    put_instrument_back(entry=entry, **who)
    assert (of_base.lines.get().present, lacks(add)) == (1, {"R14": 1})


def test_nothing_goes_into_a_wrapped_tray_or_from_a_dirty_one_into_a_clean_one(
    site: Site, trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any]
) -> None:
    base, add = trays
    version = base.version
    wrapped = factories.tray(version, "BASE/7")
    dirty = factories.tray(version, "BASE/8", stage=Stage.CLEANING, ready_at=NOW)
    to_add: dict[str, Any] = {"instrument": reamer, "to_tray": add, **who}
    assert refused(move_instrument, from_tray=wrapped, **to_add) == "not_unwrapped"
    assert refused(move_instrument, from_tray=dirty, **to_add) == "not_clean"
    assert refused(move_instrument, from_tray=add, **to_add) == "same_tray"
    other = factories.instrument(site, "R15")
    to_add["instrument"] = other
    assert refused(move_instrument, from_tray=base, **to_add) == "not_on_sheet"
    move_instrument(instrument=reamer, from_tray=add, to_tray=dirty, **who)


def test_out_of_quarantine_it_goes_through_cleaning_with_its_tray(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any]
) -> None:
    base, _ = trays
    entry = take_instrument_out(instrument=reamer, tray=base, way=Way.INFECTION, **who)
    assert lacks(base) == {"R14": 1}
    back: dict[str, Any] = {"entry": entry, **who}
    assert refused(put_instrument_back, **back) == "why_missing"
    assert refused(put_instrument_back, note="cleared", **back) == "not_before_cleaning"
    move_tray(tray=base, stage=Stage.CLEANING, ready_at=NOW, **who)
    put_instrument_back(note="cleared", **back)
    assert lacks(base) == {}


def test_another_sites_person_moves_nothing_and_an_entry_stays_as_it_is(
    trays: tuple[Tray, Tray], reamer: Instrument, who: dict[str, Any], stranger: Person
) -> None:
    base, add = trays
    asked: dict[str, Any] = {"instrument": reamer, "from_tray": base, "to_tray": add, "now": NOW}
    assert refused(move_instrument, by=stranger, **asked) == "elsewhere"
    entry = move_instrument(by=who["by"], **asked)
    with pytest.raises(AppendOnlyError):
        entry.save()
    with pytest.raises(AppendOnlyError):
        InstrumentEntry.objects.all().delete()
