"""The currency goes to where the prices are: from the house's settings to those of its shelf."""

from django.db import migrations


def to_the_shelf(apps, schema_editor):
    shelves = apps.get_model("implants", "ShelfSettings").objects
    for house in apps.get_model("scheduling", "HouseSettings").objects.exclude(currency=""):
        shelves.update_or_create(site_id=house.site_id, defaults={"currency": house.currency})


def to_the_house(apps, schema_editor):
    houses = apps.get_model("scheduling", "HouseSettings").objects
    for shelf in apps.get_model("implants", "ShelfSettings").objects.exclude(currency=""):
        houses.update_or_create(site_id=shelf.site_id, defaults={"currency": shelf.currency})


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0016_sizes_by_surgeon"), ("implants", "0003_currency")]

    operations = [
        migrations.RunPython(to_the_shelf, to_the_house),
        migrations.RemoveField(model_name="housesettings", name="currency"),
    ]
