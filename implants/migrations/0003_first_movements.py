"""Boxes that were recorded before there was a ledger get their first movement."""

from django.db import migrations
from django.utils import timezone

LOAD = "load from a file"


def enter(apps, schema_editor):
    Unit, UnitMove, UnitMovement = (
        apps.get_model("implants", name) for name in ("Unit", "UnitMove", "UnitMovement")
    )
    now = timezone.now()
    moves = {}
    for unit in Unit.objects.filter(seq=0).order_by("pk"):
        if unit.hold:
            state = "quarantine"
        else:
            state = "awaited" if unit.expected_at else "on the shelf"
        if state not in moves:
            moves[state], _ = UnitMove.objects.get_or_create(
                from_state="", to_state=state, kind=LOAD, defaults={"unsigned": True}
            )
        UnitMovement.objects.create(
            unit=unit,
            seq=1,
            move=moves[state],
            at=now,
            day=now.date(),
            reason=unit.hold,
            hold=unit.hold,
            expected_at=unit.expected_at,
        )
        Unit.objects.filter(pk=unit.pk).update(state=state, seq=1)


class Migration(migrations.Migration):

    dependencies = [
        ("implants", "0002_ledger"),
    ]

    operations = [
        migrations.RunPython(enter, migrations.RunPython.noop),
    ]
