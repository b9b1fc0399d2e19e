"""Keep and retire a surgeon's windows: named defaults for the plan form.  Versions are added."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from deploy.kit.models import Person
from scheduling.errors import NotUsable, Refused
from scheduling.models import Surgeon, Technique, Window
from scheduling.operations.plans import plan_faults, stored
from scheduling.plans.windows import Steps

LONGEST_NAME = 60


@transaction.atomic
def keep_window(
    *,
    surgeon: Surgeon,
    technique: Technique,
    name: str,
    components: Mapping[str, Any],
    facts: Mapping[str, Any],
    windows: Mapping[str, Steps],
    by: Person,
    now: datetime,
) -> Window:
    """Add the next version of the window of that name.  The same again adds none.

    NotUsable (plan_invalid) with all faults, a name of 1 to 60 letters among them.
    """
    name = " ".join(name.split())
    faults = plan_faults(components, facts, windows)
    if not 1 <= len(name) <= LONGEST_NAME:
        faults.append(f"name: 1 to {LONGEST_NAME} letters")
    if surgeon.site_id != by.site_id or technique.site_id != by.site_id:
        faults.append("surgeon, technique: of another site")
    if faults:
        raise NotUsable("plan_invalid", faults)
    content = {
        "components": stored(components),
        "facts": stored(facts),
        "windows": stored(windows),
    }
    last = _last(surgeon, technique, name)
    same = last is not None and all(getattr(last, key) == value for key, value in content.items())
    if last is not None and same and not last.retired:
        return last
    return Window.objects.create(
        surgeon=surgeon,
        technique=technique,
        name=name,
        number=last.number + 1 if last else 1,
        made_at=now,
        made_by=by.user,
        **content,
    )


@transaction.atomic
def retire_window(*, window: Window, by: Person, now: datetime) -> Window:
    """Offer it no more: a last version that says so.  Refused (window_replaced)."""
    last = _last(window.surgeon, window.technique, window.name)
    assert last is not None
    if last.number != window.number or last.retired:
        raise Refused("window_replaced", window=window.name, number=window.number)
    return Window.objects.create(
        surgeon=last.surgeon,
        technique=last.technique,
        name=last.name,
        number=last.number + 1,
        components=last.components,
        facts=last.facts,
        windows=last.windows,
        retired=True,
        made_at=now,
        made_by=by.user,
    )


def _last(surgeon: Surgeon, technique: Technique, name: str) -> Window | None:
    """The version in force; the surgeon's row is locked, so that a number is given once."""
    Surgeon.objects.select_for_update().get(pk=surgeon.pk)
    found = Window.objects.filter(surgeon=surgeon, technique=technique, name=name)
    return found.order_by("-number").first()
