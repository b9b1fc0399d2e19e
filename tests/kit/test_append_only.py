"""The security log is added to, never edited."""

from __future__ import annotations

import pytest

from deploy.kit.models import AppendOnlyError, SecurityEvent, What
from deploy.kit.security_log import record


@pytest.fixture
def event(manager) -> SecurityEvent:
    return record(What.LOG_IN, who=manager.user)


@pytest.mark.parametrize(
    "change",
    [
        lambda event: event.save(),
        lambda event: event.delete(),
        lambda event: SecurityEvent.objects.update(detail="x"),
        lambda event: SecurityEvent.objects.filter(pk=event.pk).delete(),
        lambda event: SecurityEvent.objects.bulk_update([event], ["detail"]),
        lambda event: SecurityEvent.objects.update_or_create(pk=event.pk),
        lambda event: SecurityEvent._base_manager.update(detail="x"),
    ],
)
def test_refuses_to_change_or_delete(event, change):
    with pytest.raises(AppendOnlyError, match="SecurityEvent is added and never edited"):
        change(event)
    assert SecurityEvent.objects.get().detail == ""


def test_a_row_with_a_known_key_overwrites_nothing(event):
    with pytest.raises(Exception, match=r"(?i)unique"):
        SecurityEvent(pk=event.pk, what=What.LOCK, outcome="done").save()


def test_whoever_is_in_the_log_can_not_be_deleted(event, manager):
    user = manager.user
    manager.delete()
    with pytest.raises(Exception, match="protected"):
        user.delete()
