from __future__ import annotations

import re
from datetime import date, datetime

import pytest
from django.conf import settings

from scheduling.error_words import SENTENCES
from scheduling.errors import NotUsable, Refused

RAISED = re.compile(r"(?:Refused|NotUsable|NotTheSame|BadKey)\(\s*\"(\w+)\"")


def test_says_every_value():
    refused = Refused(
        "unit_expired", unit="U1", case="C1", expiry=date(2027, 3, 1), day=date(2027, 3, 2)
    )
    assert refused.say() == "Box U1: use by 01 Mar 2027, but case C1 ends on 02 Mar 2027."
    promised = Refused(
        "tray_promised",
        tray="B/1",
        other="C2",
        begins=datetime(2027, 3, 2, 7, 30),  # noqa: DTZ001  local to the site
        until=datetime(2027, 3, 2, 15, 15),  # noqa: DTZ001
    )
    assert promised.say() == (
        "Tray B/1 is reserved for case C2 and not free from Tue 02 Mar 07:30 until "
        "Tue 02 Mar 15:15, its turnaround included."
    )


def test_all_faults_are_in_one_sentence():
    assert NotUsable("plan_invalid", ["a: wrong", "b: wrong"]).say() == (
        "The plan cannot be used: a: wrong; b: wrong."
    )


def test_statuses():
    assert (Refused.status, NotUsable.status) == (409, 400)


def test_a_refusal_without_a_sentence_cannot_be_raised():
    with pytest.raises(KeyError):
        Refused("no_such_code")


def test_every_code_that_the_source_raises_has_its_sentence():
    source = [path.read_text() for path in (settings.BASE_DIR / "scheduling").rglob("*.py")]
    raised = {code for text in source for code in RAISED.findall(text)}
    assert len(raised) > 15
    assert raised <= set(SENTENCES)
