from __future__ import annotations

import pytest

from tests import factories
from tests.factories import NOW
from trays.models import ConfigurationVersion
from trays.operations.count_sheets import contents_of, issue_count_sheet


@pytest.fixture
def issue(site, coordinator):
    for ref in ("R12", "R13"):
        factories.instrument(site, ref)
    configuration = factories.configuration(site).configuration

    def issue(contents) -> ConfigurationVersion:
        return issue_count_sheet(
            configuration=configuration, contents=contents, by=coordinator.user, now=NOW
        )

    return issue


def test_a_changed_sheet_is_the_next_version_and_the_old_one_stays(issue, coordinator):
    second, third = issue({"R13": 1}), issue({"R13": 1, "R12": 2})
    assert (second.number, contents_of(second)) == (2, [("R13", 1)])
    assert (third.number, contents_of(third)) == (3, [("R13", 1), ("R12", 2)])
    assert (third.made_by, third.made_at) == (coordinator.user, NOW)


def test_the_same_sheet_again_is_no_new_version(issue):
    assert issue({"R13": 1}) == issue({"R13": 1})


def test_another_order_is_another_sheet(issue):
    assert issue({"R13": 1, "R12": 1}).number == 2
    assert issue({"R12": 1, "R13": 1}).number == 3


def test_an_instrument_that_is_not_there_leaves_nothing_half_done(issue):
    with pytest.raises(KeyError):
        issue({"R13": 1, "R99": 1})
    assert ConfigurationVersion.objects.count() == 1
