import django.contrib.postgres.fields.ranges
from django.db import migrations, models

import scheduling.models.exclusion


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0004_fill_periods"),
    ]

    operations = [
        migrations.AlterField("trayreservation", "busy_from", models.DateTimeField()),
        migrations.AlterField("trayreservation", "busy_until", models.DateTimeField()),
        migrations.AlterField("unitreservation", "used_on", models.DateField()),
        migrations.AddConstraint(
            model_name="trayreservation",
            constraint=models.CheckConstraint(
                condition=models.Q(("busy_until__gt", models.F("busy_from"))),
                name="scheduling_tray_busy_in_order",
            ),
        ),
        migrations.AddConstraint(
            model_name="trayreservation",
            constraint=scheduling.models.exclusion.PostgresExclusion(
                condition=models.Q(("freed_at__isnull", True)),
                expressions=[
                    ("tray", "="),
                    (
                        models.Func(
                            models.F("busy_from"),
                            models.F("busy_until"),
                            django.contrib.postgres.fields.ranges.RangeBoundary(),
                            function="TSTZRANGE",
                            output_field=django.contrib.postgres.fields.ranges.DateTimeRangeField(),
                        ),
                        "&&",
                    ),
                ],
                name="scheduling_tray_uses_apart",
            ),
        ),
    ]
