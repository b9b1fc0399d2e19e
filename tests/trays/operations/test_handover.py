from __future__ import annotations

from datetime import timedelta
from typing import Any

from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from trays.operations.bench import take_tray_to
from trays.operations.handover import hand_over
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


def test_another_sites_handover_is_not_ours(site: Site, stranger: Person) -> None:
    hand_over(by=stranger, now=NOW)
    assert last_handover(site) is None
