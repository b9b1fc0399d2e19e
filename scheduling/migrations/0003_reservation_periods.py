from django.db import migrations, models


def equality_in_gist(apps, schema_editor):
    """Django's own operation for it cannot be undone on SQLite."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0002_department_capacities"),
        ("trays", "0003_first_movements"),
        ("implants", "0004_standing"),
    ]

    operations = [
        migrations.RunPython(equality_in_gist, migrations.RunPython.noop),
        migrations.AddField("trayreservation", "busy_from", models.DateTimeField(null=True)),
        migrations.AddField("trayreservation", "busy_until", models.DateTimeField(null=True)),
        migrations.AddField("unitreservation", "used_on", models.DateField(null=True)),
    ]
