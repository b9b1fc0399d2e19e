"""Take a washer or steriliser out of use, and bring it back.  Each is one transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.models import Machine


@transaction.atomic
def put_out_of_use(
    *, machine: Machine, reason: str, by: Person, now: datetime, back_at: datetime | None = None
) -> Machine:
    """It broke, or its test cycle failed: nothing is opened or started in it.

    A load that runs in it stays a person's to close.  TrayRefused: elsewhere, machine_down (it is
    out of use already), down_reason_missing.
    """
    there = _locked(machine, by)
    if there.down_since is not None:
        raise TrayRefused("machine_down", machine=there.code, reason=there.down_reason)
    reason = reason.strip()[:120]
    if not reason:
        raise TrayRefused("down_reason_missing", machine=there.code)
    there.down_since, there.down_reason, there.back_at = now, reason, back_at
    there.save(update_fields=["down_since", "down_reason", "back_at"])
    return there


@transaction.atomic
def put_back_into_use(*, machine: Machine, by: Person, now: datetime) -> Machine:
    """It works again, after whatever test the house asks for.  TrayRefused: elsewhere,
    machine_up."""
    there = _locked(machine, by)
    if there.down_since is None:
        raise TrayRefused("machine_up", machine=there.code)
    there.down_since, there.down_reason, there.back_at = None, "", None
    there.save(update_fields=["down_since", "down_reason", "back_at"])
    return there


def _locked(machine: Machine, by: Person) -> Machine:
    there = Machine.objects.select_for_update().get(pk=machine.pk)
    if there.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Machine {there.code}")
    return there
