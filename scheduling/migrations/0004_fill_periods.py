"""Promises that were made before get their periods.

Of trays: the hours in theatre, which is what was promised until now; the turnaround comes in when
the case is moved or the tray is promised anew.
"""

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.db import migrations

MINUTE = timedelta(minutes=1)


def fill(apps, schema_editor):
    models = ("HouseSettings", "TrayReservation", "UnitReservation")
    House, TrayReservation, UnitReservation = (
        apps.get_model("scheduling", name) for name in models
    )
    houses = {house.site_id: house for house in House.objects.all()}
    for one in TrayReservation.objects.select_related("case"):
        house = houses.get(one.case.site_id) or House()
        end = one.case.start + one.case.minutes * MINUTE
        TrayReservation.objects.filter(pk=one.pk).update(
            busy_from=one.case.start - house.needed_before_minutes * MINUTE,
            busy_until=end + house.out_of_theatre_minutes * MINUTE,
        )
    for one in UnitReservation.objects.select_related("case__site"):
        end = one.case.start + one.case.minutes * MINUTE
        day = end.astimezone(ZoneInfo(one.case.site.timezone)).date()
        UnitReservation.objects.filter(pk=one.pk).update(used_on=day)


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0003_reservation_periods"),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
