"""Trays that were recorded before there was a ledger get their first movement."""

from django.db import migrations
from django.utils import timezone

LOAD = "load from a file"


def enter(apps, schema_editor):
    Tray, TrayMove, TrayMovement = (
        apps.get_model("trays", name) for name in ("Tray", "TrayMove", "TrayMovement")
    )
    now = timezone.now()
    moves = {}
    for tray in Tray.objects.filter(seq=0).order_by("pk"):
        if tray.stage not in moves:
            moves[tray.stage], _ = TrayMove.objects.get_or_create(
                from_state="", to_state=tray.stage, kind=LOAD, defaults={"unsigned": True}
            )
        TrayMovement.objects.create(
            tray=tray,
            seq=1,
            move=moves[tray.stage],
            at=now,
            day=now.date(),
            ready_at=tray.ready_at,
            expected_at=tray.expected_at,
            sterile_until=tray.sterile_until,
        )
        Tray.objects.filter(pk=tray.pk).update(seq=1)


class Migration(migrations.Migration):

    dependencies = [
        ("trays", "0002_ledger"),
    ]

    operations = [
        migrations.RunPython(enter, migrations.RunPython.noop),
    ]
