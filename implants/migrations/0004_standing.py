from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('implants', '0003_first_movements'),
    ]

    operations = [
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('expected_at__isnull', False), ('hold', ''), ('state', 'awaited')), models.Q(('state__in', ('quarantine', 'recalled')), models.Q(('hold', ''), _negated=True)), models.Q(('expected_at__isnull', True), ('hold', ''), ('state__in', ['', 'on the shelf', 'picked', 'implanted', 'wasted', 'returned to supplier', 'entered in error'])), _connector='OR'), name='implants_unit_standing'),
        ),
    ]
