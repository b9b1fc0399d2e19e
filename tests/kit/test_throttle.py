"""Five tries, then none for fifteen minutes; by name and address together."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction

from deploy.kit.models import Tries
from deploy.kit.throttle import LOG_IN, TooManyTries, counted, forget_tries, take_try
from tests.factories import NOW

MINUTE = timedelta(minutes=1)


@pytest.mark.parametrize(
    ("number", "minutes_since", "after"),
    [(0, 0, 1), (4, 0, 5), (4, 14, 5), (5, 15, 1), (4, 15, 1), (5, 16, 1)],
)
def test_counts_one_more_or_begins_again_after_a_quiet_quarter(number, minutes_since, after):
    assert counted(LOG_IN, number, NOW - minutes_since * MINUTE, NOW) == after


@pytest.mark.parametrize("minutes_since", [0, 1, 14])
def test_a_sixth_try_is_refused_until_a_quarter_after_the_fifth(minutes_since):
    last = NOW - minutes_since * MINUTE
    with pytest.raises(TooManyTries) as refusal:
        counted(LOG_IN, 5, last, NOW)
    assert refusal.value.until == last + 15 * MINUTE


def spend(*subject: str, now=NOW) -> None:
    for _ in range(LOG_IN.tries):
        take_try(LOG_IN, *subject, now=now)


def test_knocking_on_lengthens_nothing(db):
    spend("ash", "10.0.0.1")
    for minutes in (5, 10, 14):
        with pytest.raises(TooManyTries) as refusal:
            take_try(LOG_IN, "ash", "10.0.0.1", now=NOW + minutes * MINUTE)
        assert refusal.value.until == NOW + 15 * MINUTE
    take_try(LOG_IN, "ash", "10.0.0.1", now=NOW + 15 * MINUTE)


def test_neither_the_address_nor_the_name_alone_is_shut_out(db):
    spend("ash", "10.0.0.1")
    take_try(LOG_IN, "cedar", "10.0.0.1", now=NOW)
    take_try(LOG_IN, "ash", "10.0.0.2", now=NOW)


def test_a_success_forgets_the_tries_of_this_subject_alone(db):
    spend("ash", "10.0.0.1")
    spend("cedar", "10.0.0.1")
    forget_tries(LOG_IN, "ash", "10.0.0.1")
    take_try(LOG_IN, "ash", "10.0.0.1", now=NOW)
    with pytest.raises(TooManyTries):
        take_try(LOG_IN, "cedar", "10.0.0.1", now=NOW)


def test_the_count_names_nobody_and_old_ones_go(db):
    take_try(LOG_IN, "ash", "10.0.0.1", now=NOW)
    take_try(LOG_IN, "cedar", "10.0.0.1", now=NOW + timedelta(hours=25))
    (left,) = Tries.objects.values_list("key", flat=True)
    assert (len(left), "cedar" in left) == (64, False)


def test_a_try_can_not_be_undone_with_an_act(transactional_db):
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        take_try(LOG_IN, "ash", "10.0.0.1", now=NOW)
