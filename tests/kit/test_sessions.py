"""Locked after ten idle minutes, over after twelve hours."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from deploy.kit.sessions import State, begin, note_activity, state_of

BEGAN = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)


@pytest.fixture
def session() -> dict:
    session: dict = {}
    begin(session, BEGAN)
    return session


@pytest.mark.parametrize(
    ("later", "state"),
    [
        (timedelta(0), State.OPEN),
        (timedelta(minutes=10) - timedelta(seconds=1), State.OPEN),
        (timedelta(minutes=10), State.LOCKED),
        (timedelta(hours=12) - timedelta(seconds=1), State.LOCKED),
        (timedelta(hours=12), State.OVER),
    ],
)
def test_without_activity(session, later, state):
    assert state_of(session, BEGAN + later) is state


def test_with_activity_it_stays_open_for_twelve_hours_and_no_longer(session):
    for minute in range(5, 12 * 60, 5):
        moment = BEGAN + timedelta(minutes=minute)
        assert state_of(session, moment) is State.OPEN
        note_activity(session, moment)
    assert state_of(session, BEGAN + timedelta(hours=12)) is State.OVER


def test_a_lock_does_not_open_by_itself(session):
    session["locked"] = True
    assert state_of(session, BEGAN) is State.LOCKED


@pytest.mark.parametrize("mark", ["began", "seen"])
def test_a_session_without_its_marks_is_over(session, mark):
    del session[mark]
    assert state_of(session, BEGAN) is State.OVER


def test_the_lengths_are_settings(session, settings):
    settings.MUSTER_IDLE_SECONDS, settings.MUSTER_LONGEST_SECONDS = 60, 120
    assert state_of(session, BEGAN + timedelta(seconds=60)) is State.LOCKED
    assert state_of(session, BEGAN + timedelta(seconds=120)) is State.OVER


def test_activity_is_noted_at_most_twice_a_minute(session):
    note_activity(session, BEGAN + timedelta(seconds=29))
    assert session["seen"] == BEGAN.timestamp()
    note_activity(session, BEGAN + timedelta(seconds=30))
    assert session["seen"] == BEGAN.timestamp() + 30
