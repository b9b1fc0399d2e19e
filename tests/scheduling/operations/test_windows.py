from __future__ import annotations

import pytest

from deploy.kit.models import Site
from scheduling.errors import NotUsable, Refused
from scheduling.models import Technique, Window
from scheduling.operations.windows import keep_window, retire_window
from tests import factories
from tests.factories import NOW

STEM = {"stem": {"system": "A", "offset": "high"}}


@pytest.fixture
def technique(site: Site) -> Technique:
    return factories.technique(site)


@pytest.fixture
def keep(technique, surgeon):
    def keep(name="Usual", by=surgeon, **changed) -> Window:
        values = {"components": STEM, "facts": {"approach": "lateral"}, "windows": {}} | changed
        return keep_window(
            surgeon=surgeon.user.surgeon, technique=technique, name=name, by=by, now=NOW, **values
        )

    return keep


def test_keeps_versions_under_a_name(keep, surgeon):
    first, second = keep(), keep(name=" Usual ", windows={"stem.size": (1, 3)})
    assert (first.name, first.number, second.number) == ("Usual", 1, 2)
    second.refresh_from_db()
    assert (second.components, second.windows) == (STEM, {"stem.size": [1, 3]})
    assert (second.made_by, second.made_at) == (surgeon.user, NOW)
    assert keep(name="Short").number == 1


def test_the_same_again_adds_none(keep):
    assert keep() == keep()


def test_all_faults_at_once_and_nothing_kept(keep):
    with pytest.raises(NotUsable) as refused:
        keep(name=" ", components={"stem": {"colour": "red"}}, windows={"stem.size": (1, 99)})
    assert [fault.partition(":")[0] for fault in refused.value.values["faults"]] == [
        "components.stem.colour",
        "windows.stem.size",
        "name",
    ]
    assert not Window.objects.exists()


def test_another_sites_person_is_refused(keep, stranger):
    with pytest.raises(NotUsable, match="of another site"):
        keep(by=stranger)


def test_a_retired_window_is_a_version_that_says_so(keep, surgeon):
    retired = retire_window(window=keep(), by=surgeon, now=NOW)
    assert (retired.number, retired.retired, retired.components) == (2, True, STEM)
    assert keep().number == 3


def test_what_was_replaced_meanwhile_is_not_retired(keep, surgeon):
    first = keep()
    keep(facts={})
    with pytest.raises(Refused, match=r"“Usual”, version 1, was replaced or retired meanwhile"):
        retire_window(window=first, by=surgeon, now=NOW)
