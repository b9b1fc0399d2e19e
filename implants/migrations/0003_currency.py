from django.core.validators import RegexValidator
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("implants", "0002_price")]

    operations = [
        migrations.AddField(
            model_name="shelfsettings",
            name="currency",
            field=models.CharField(
                blank=True,
                help_text=(
                    "In which prices are agreed: three letters, such as GBP; empty: none is shown."
                ),
                max_length=3,
                validators=[
                    RegexValidator("^[A-Z]{3}$", "three capital letters, as ISO 4217 has them")
                ],
            ),
        ),
    ]
