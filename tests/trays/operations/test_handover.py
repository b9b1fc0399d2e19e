from __future__ import annotations

from datetime import timedelta
from typing import Any

from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from tests.trays.operations.conftest import SOON
from trays.happened import Matter, happened_since
from trays.hold_kinds import HoldKind
from trays.models import Machine, Tray
from trays.operations.bench import take_tray_to
from trays.operations.counts import begin_count, say_line
from trays.operations.handover import hand_over
from trays.operations.holds import hold_for, lift_by_name
from trays.operations.loads import close_load, open_load, put_into_load, start_load
from trays.operations.machines import put_out_of_use
from trays.operations.packing import pack_tray
from trays.queries import changes_since, last_handover, trays_at
from trays.stages import Stage

EARLIER = NOW - timedelta(hours=1)


def test_a_handover_has_a_person_a_time_and_a_word(site: Site, who: dict[str, Any]) -> None:
    hand_over(note="  S1 leaks ", by=who["by"], now=EARLIER)
    last = hand_over(**who)
    assert last_handover(site) == last
    assert (last.by, last.at, last.note) == (who["by"].user, NOW, "")


def test_what_changed_is_each_tray_once_from_where_it_was_to_where_it_is(
    site: Site, acts: dict[str, Any], django_assert_num_queries: Any
) -> None:
    version = factories.configuration(site)
    moved, stayed = factories.tray(version), factories.tray(version, "BASE/2")
    take_tray_to(tray=moved, stage=Stage.ISSUED, case_ref="C1", **{**acts, "now": EARLIER})
    take_tray_to(tray=moved, stage=Stage.IN_THEATRE, **acts)
    with django_assert_num_queries(1):
        (change,) = changes_since(site, EARLIER)
    assert (change.tray, change.before, change.after) == ("BASE/1", "sterile store", "in theatre")
    (later,) = changes_since(site, NOW)
    assert later.before == "issued"
    with django_assert_num_queries(1):
        assert [tray.code for tray in trays_at(site, [Stage.STERILE_STORE])] == [stayed.code]


def test_what_the_next_shift_has_to_know_by_what_it_is(
    site: Site,
    acts: dict[str, Any],
    who: dict[str, Any],
    steriliser: Machine,
    counted: Tray,
    django_assert_num_queries: Any,
) -> None:
    short = factories.tray(counted.version, "BASE/2", stage=Stage.ASSEMBLY, ready_at=NOW)
    say_line(count=begin_count(tray=short, **who), ref="REAM-12", present=0, **who)
    wet, dry = factories.tray(counted.version, "BASE/3"), factories.tray(counted.version, "BASE/4")
    hold_for(tray=wet, kind=HoldKind.WET, note="corner", **who)
    hold_for(tray=dry, kind=HoldKind.SEAL, **{**who, "now": EARLIER})
    pack_tray(tray=counted, **acts)
    load = open_load(machine=steriliser, **who)
    put_into_load(load=load, tray=counted, **acts)
    load = start_load(load=load, cycle="134", **acts)
    close_load(load=load, passed=False, said="door", **acts)
    put_out_of_use(machine=steriliser, reason="door seal", **who)
    with django_assert_num_queries(4):
        happened = happened_since(site, NOW)
    assert [(one.matter, one.what, one.said) for one in happened] == [
        (Matter.FAILED, "Load S1-1", "failed; door"),
        (Matter.DOWN, "S1", "door seal"),
        (Matter.HELD, "BASE/1", "load failed or withdrawn: S1-1 failed"),
        (Matter.HELD, "BASE/3", "wet pack: corner"),
        (Matter.SHORT, "BASE/2", "1 × reamer (REAM-12)"),
    ]
    lift_by_name(tray=dry, note="sealed anew", **acts)
    lifted = happened_since(site, NOW)[-1]
    assert (lifted.matter, lifted.what, lifted.by) == (Matter.LIFTED, "BASE/4", "Sterile")
    assert happened_since(site, SOON) == []


def test_another_sites_handover_is_not_ours(site: Site, stranger: Person) -> None:
    hand_over(by=stranger, now=NOW)
    assert last_handover(site) is None
