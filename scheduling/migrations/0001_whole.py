import django.contrib.postgres.fields.ranges
import django.core.validators
import django.db.models.deletion
import scheduling.models.exclusion
from django.conf import settings
from django.db import migrations, models


def equality_in_gist(apps, schema_editor):
    """For the constraint on tray uses.  Django's own operation cannot be undone on SQLite."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")


class Migration(migrations.Migration):
    replaces = [
        ("scheduling", "0001_initial"),
        ("scheduling", "0002_department_capacities"),
        ("scheduling", "0003_reservation_periods"),
        ("scheduling", "0004_fill_periods"),
        ("scheduling", "0005_reservations_exclude"),
        ("scheduling", "0006_gap_notes"),
        ("scheduling", "0007_alerts"),
        ("scheduling", "0008_theatre"),
        ("scheduling", "0009_planning"),
    ]

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("implants", "0001_whole"),
        ("kit", "0001_whole"),
        ("trays", "0001_whole"),
    ]

    operations = [
        migrations.RunPython(equality_in_gist, migrations.RunPython.noop),
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("token_sha256", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                (
                    "user",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Case",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("ref", models.CharField(max_length=64)),
                ("start", models.DateTimeField()),
                ("minutes", models.PositiveIntegerField()),
                (
                    "priority",
                    models.CharField(
                        choices=[
                            ("immediate", "immediate"),
                            ("urgent", "urgent"),
                            ("expedited", "expedited"),
                            ("elective", "elective"),
                        ],
                        default="elective",
                        max_length=16,
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        blank=True, choices=[("left", "Left"), ("right", "Right")], max_length=8
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=[
                            ("booked", "Booked"),
                            ("started", "Started"),
                            ("ended", "Ended"),
                            ("cancelled", "Cancelled"),
                        ],
                        default="booked",
                        max_length=16,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "ordering": ["start", "ref"],
                "permissions": [
                    ("read_cases", "May read every case and its coverage"),
                    ("read_own_cases", "May read the cases of which they are the surgeon"),
                    ("book_case", "May book, move and cancel cases"),
                    (
                        "book_own_case",
                        "May book, move and cancel the cases of which they are the surgeon",
                    ),
                    ("take_on_gaps", "May take on the gaps of a case"),
                    ("run_case", "May start and end a case"),
                    ("reserve", "May reserve units and trays for a case"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Alert",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=40)),
                ("cause", models.CharField(max_length=250)),
                ("said", models.TextField()),
                ("roles", models.JSONField(default=list)),
                ("opened_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.case",
                    ),
                ),
            ],
            options={
                "ordering": ["-opened_at", "-pk"],
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("closed_at", None)),
                        fields=("site", "cause"),
                        name="scheduling_alert_once_a_cause",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseDecision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "decision",
                    models.CharField(
                        choices=[("confirmed", "Confirmed"), ("postponed", "Postponed")],
                        max_length=16,
                    ),
                ),
                ("verdict", models.CharField(max_length=32)),
                ("rests_on", models.JSONField()),
                ("accepted", models.JSONField(blank=True, default=list)),
                ("reason", models.TextField(blank=True)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="decisions",
                        to="scheduling.case",
                    ),
                ),
            ],
            options={
                "ordering": ["case", "id"],
            },
        ),
        migrations.CreateModel(
            name="ClosedDate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField()),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="closed_dates",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "ordering": ["day"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "day"), name="scheduling_closed_date_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="GapNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("note", models.CharField(blank=True, max_length=200)),
                ("done", models.BooleanField(default=False)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kit.person",
                    ),
                ),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "default_permissions": (),
            },
        ),
        migrations.CreateModel(
            name="HouseSettings",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "needed_before_minutes",
                    models.PositiveIntegerField(
                        default=60, help_text="Everything is in theatre this long before the start."
                    ),
                ),
                (
                    "out_of_theatre_minutes",
                    models.PositiveIntegerField(
                        default=15,
                        help_text="From the end of a case until its trays leave theatre.",
                    ),
                ),
                (
                    "shelf_return_minutes",
                    models.PositiveIntegerField(
                        default=60,
                        help_text="From there until unused implants are back on the shelf.",
                    ),
                ),
                (
                    "loan_check_in_minutes",
                    models.PositiveIntegerField(
                        default=120, help_text="Check-in of a loan tray, in opening minutes."
                    ),
                ),
                ("order_cut_off_minute", models.PositiveIntegerField(default=960)),
                ("delivery_minute", models.PositiveIntegerField(default=720)),
                (
                    "short_dated_days",
                    models.PositiveIntegerField(
                        default=90,
                        help_text="A box with a use-by date nearer than this counts as short-dated.",
                    ),
                ),
                (
                    "cleaning_places",
                    models.PositiveIntegerField(
                        blank=True, help_text="Trays that the washers take at once.", null=True
                    ),
                ),
                ("cleaning_minutes", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "assembly_places",
                    models.PositiveIntegerField(
                        blank=True, help_text="Benches for inspection and assembly.", null=True
                    ),
                ),
                ("assembly_minutes", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "sterilising_places",
                    models.PositiveIntegerField(
                        blank=True, help_text="Trays that the sterilisers take at once.", null=True
                    ),
                ),
                ("sterilising_minutes", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "site",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="house",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "house settings",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("cleaning_minutes__gte", 1),
                                ("cleaning_minutes__isnull", False),
                                ("cleaning_places__gte", 1),
                                ("cleaning_places__isnull", False),
                            ),
                            models.Q(
                                ("cleaning_minutes__isnull", True),
                                ("cleaning_places__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="scheduling_house_cleaning_both_or_neither",
                        violation_error_message="State places and minutes of a stage, or neither.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("assembly_minutes__gte", 1),
                                ("assembly_minutes__isnull", False),
                                ("assembly_places__gte", 1),
                                ("assembly_places__isnull", False),
                            ),
                            models.Q(
                                ("assembly_minutes__isnull", True),
                                ("assembly_places__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="scheduling_house_assembly_both_or_neither",
                        violation_error_message="State places and minutes of a stage, or neither.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("sterilising_minutes__gte", 1),
                                ("sterilising_minutes__isnull", False),
                                ("sterilising_places__gte", 1),
                                ("sterilising_places__isnull", False),
                            ),
                            models.Q(
                                ("sterilising_minutes__isnull", True),
                                ("sterilising_places__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="scheduling_house_sterilising_both_or_neither",
                        violation_error_message="State places and minutes of a stage, or neither.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("delivery_minute__lt", 1440), ("order_cut_off_minute__lt", 1440)
                        ),
                        name="scheduling_house_minutes_of_day",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LabelCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "read",
                    models.CharField(help_text="The text as the scanner sent it.", max_length=400),
                ),
                (
                    "answer",
                    models.CharField(
                        choices=[
                            ("MATCHES LIST", "Matches List"),
                            ("STOP", "Stop"),
                            ("ALREADY SCANNED", "Already Scanned"),
                        ],
                        max_length=16,
                    ),
                ),
                ("reason", models.JSONField(default=dict, help_text="A code and its values.")),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="label_checks",
                        to="scheduling.case",
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.tray",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "permissions": [
                    ("record_use", "May record what is opened, implanted, wasted and returned"),
                    (
                        "sign_in_theatre",
                        "May sign as the second person of what takes two in theatre",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Lapse",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("because", models.JSONField(help_text="Sentences.")),
                ("at", models.DateTimeField()),
                (
                    "decision",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lapse",
                        to="scheduling.casedecision",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="LastLook",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("saw", models.JSONField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.case",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("case", "by"), name="scheduling_last_look")
                ],
            },
        ),
        migrations.CreateModel(
            name="Maker",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("address", models.CharField(blank=True, max_length=300)),
                (
                    "website",
                    models.CharField(
                        blank=True,
                        max_length=200,
                        validators=[django.core.validators.URLValidator()],
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "name"), name="scheduling_maker_name")
                ],
            },
        ),
        migrations.CreateModel(
            name="Notice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("text", models.TextField()),
                ("at", models.DateTimeField()),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.case",
                    ),
                ),
                (
                    "to",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
                "indexes": [models.Index(fields=["to", "seen_at"], name="scheduling_notice_open")],
            },
        ),
        migrations.CreateModel(
            name="OnIt",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="on_it",
                        to="scheduling.case",
                    ),
                ),
            ],
            options={
                "ordering": ["case", "at"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("case", "by"),
                        name="scheduling_on_it_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Opening",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("override", models.CharField(blank=True, max_length=120)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="openings",
                        to="scheduling.case",
                    ),
                ),
                (
                    "check_made",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="openings",
                        to="scheduling.labelcheck",
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("second__isnull", True),
                            models.Q(("second", models.F("by")), _negated=True),
                            _connector="OR",
                        ),
                        name="scheduling_opening_two_differ",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OpeningHours",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "weekday",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (0, "mon"),
                            (1, "tue"),
                            (2, "wed"),
                            (3, "thu"),
                            (4, "fri"),
                            (5, "sat"),
                            (6, "sun"),
                        ]
                    ),
                ),
                ("opens_minute", models.PositiveIntegerField(help_text="Minutes after midnight.")),
                (
                    "closes_minute",
                    models.PositiveIntegerField(help_text="1440 is midnight at the day's end."),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="opening_hours",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "opening hours",
                "ordering": ["site", "weekday"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "weekday"), name="scheduling_opening_once_a_day"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("closes_minute__lte", 1440),
                            ("opens_minute__lt", models.F("closes_minute")),
                            ("weekday__lte", 6),
                        ),
                        name="scheduling_opening_in_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PickList",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "code",
                    models.CharField(
                        help_text="Short code, on paper and in addresses.", max_length=12
                    ),
                ),
                ("day", models.DateField(blank=True, null=True)),
                (
                    "case",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pick_list",
                        to="scheduling.case",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "permissions": [
                    ("print_pick_list", "May print pick lists"),
                    ("scan_pick_list", "May scan boxes and trays against a pick list"),
                    ("pick_boxes", "May take boxes from the shelf for a case and put them back"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PickListVersion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("printed_at", models.DateTimeField()),
                (
                    "reserved",
                    models.BooleanField(
                        default=False,
                        help_text="Printed and reserved: what it names is promised to the case.",
                    ),
                ),
                (
                    "content",
                    models.JSONField(
                        default=dict, help_text="The whole list in the words that were printed."
                    ),
                ),
                (
                    "pick_list",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="versions",
                        to="scheduling.picklist",
                    ),
                ),
                (
                    "printed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["pick_list", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("pick_list", "number"), name="scheduling_pick_list_version_number"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PickLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField()),
                (
                    "need",
                    models.CharField(
                        choices=[
                            ("planned", "planned"),
                            ("contingency", "contingency"),
                            ("spare", "spare"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "words",
                    models.CharField(help_text="As printed: size, offset, length.", max_length=200),
                ),
                ("location", models.CharField(blank=True, max_length=64)),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.case",
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.tray",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="scheduling.picklistversion",
                    ),
                ),
            ],
            options={
                "ordering": ["version", "position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("version", "position"), name="scheduling_pick_line_position"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("tray__isnull", True), ("unit__isnull", False)),
                            models.Q(("tray__isnull", False), ("unit__isnull", True)),
                            _connector="OR",
                        ),
                        name="scheduling_pick_line_box_or_tray",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanVersion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("components", models.JSONField(blank=True, default=dict)),
                ("facts", models.JSONField(blank=True, default=dict)),
                ("windows", models.JSONField(blank=True, default=dict)),
                ("note", models.TextField(blank=True, help_text="Free text. No patient data.")),
                ("made_at", models.DateTimeField()),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="plans",
                        to="scheduling.case",
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["case", "number"],
                "permissions": [
                    (
                        "write_own_plan",
                        "May plan and confirm the cases of which they are the surgeon",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ConfirmationGiven",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="confirmed",
                        to="scheduling.planversion",
                    ),
                ),
            ],
            options={
                "ordering": ["plan", "code"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("plan", "code"), name="scheduling_confirmation_given_once"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="casedecision",
            name="plan",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="scheduling.planversion",
            ),
        ),
        migrations.CreateModel(
            name="Scan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "read",
                    models.CharField(help_text="The text as the scanner sent it.", max_length=400),
                ),
                (
                    "answer",
                    models.CharField(
                        choices=[
                            ("MATCHES LIST", "Matches List"),
                            ("STOP", "Stop"),
                            ("ALREADY SCANNED", "Already Scanned"),
                        ],
                        max_length=16,
                    ),
                ),
                ("reason", models.JSONField(default=dict, help_text="A code and its values.")),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "line",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="scans",
                        to="scheduling.pickline",
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="scans",
                        to="scheduling.picklistversion",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("answer", "MATCHES LIST")),
                        fields=("line",),
                        name="scheduling_line_ticked_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SizeUsed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("role", models.CharField(max_length=64)),
                ("planned", models.JSONField(default=dict)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sizes_used",
                        to="scheduling.case",
                    ),
                ),
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
                (
                    "used",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="Surgeon",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "colleagues",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Who may read this surgeon's cases and plan for them. Confirming stays theirs.",
                        related_name="plans_for",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="surgeons",
                        to="kit.site",
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="surgeon",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "name"), name="scheduling_surgeon_name")
                ],
            },
        ),
        migrations.AddField(
            model_name="case",
            name="surgeon",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cases",
                to="scheduling.surgeon",
            ),
        ),
        migrations.CreateModel(
            name="TaperPair",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "stem_taper",
                    models.CharField(help_text="As the catalogue names it.", max_length=64),
                ),
                (
                    "head_taper",
                    models.CharField(help_text="As the catalogue names it.", max_length=64),
                ),
                (
                    "document",
                    models.CharField(
                        help_text="Where the makers declare it: document, version, page.",
                        max_length=200,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "ordering": ["stem_taper", "head_taper"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "stem_taper", "head_taper"),
                        name="scheduling_taper_pair_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Technique",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=64)),
                ("name", models.CharField(blank=True, max_length=200)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="techniques",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "code"), name="scheduling_technique_code"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="planversion",
            name="technique",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="scheduling.technique",
            ),
        ),
        migrations.CreateModel(
            name="TechniqueCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField(default=0)),
                ("when", models.JSONField(blank=True, default=dict)),
                ("code", models.CharField(max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[("equal", "equal"), ("at least", "at least")], max_length=16
                    ),
                ),
                ("left", models.JSONField()),
                ("right", models.JSONField()),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="checks",
                        to="scheduling.technique",
                    ),
                ),
            ],
            options={
                "ordering": ["position", "id"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("technique", "code"), name="scheduling_check_code_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["equal", "at least"])),
                        name="scheduling_check_kind",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TechniqueConfirmation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField(default=0)),
                ("when", models.JSONField(blank=True, default=dict)),
                ("code", models.CharField(max_length=200)),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="confirmations",
                        to="scheduling.technique",
                    ),
                ),
            ],
            options={
                "ordering": ["position", "id"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("technique", "code"), name="scheduling_confirmation_code_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TechniqueRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField(default=0)),
                ("when", models.JSONField(blank=True, default=dict)),
                ("role", models.CharField(max_length=64)),
                (
                    "need",
                    models.CharField(
                        choices=[
                            ("planned", "planned"),
                            ("contingency", "contingency"),
                            ("spare", "spare"),
                        ],
                        max_length=16,
                    ),
                ),
                ("select", models.JSONField(blank=True, default=dict)),
                ("quantity", models.PositiveIntegerField(default=1)),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="rules",
                        to="scheduling.technique",
                    ),
                ),
            ],
            options={
                "ordering": ["position", "id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("need__in", ["planned", "contingency", "spare"]), ("quantity__gte", 1)
                        ),
                        name="scheduling_rule_quantity",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TechniqueSet",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField(default=0)),
                ("when", models.JSONField(blank=True, default=dict)),
                ("purpose", models.CharField(max_length=120)),
                ("options", models.JSONField()),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sets",
                        to="scheduling.technique",
                    ),
                ),
            ],
            options={
                "ordering": ["position", "id"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("technique", "purpose"), name="scheduling_set_purpose_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Theatre",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=64)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="theatres",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "code"), name="scheduling_theatre_code")
                ],
            },
        ),
        migrations.AddField(
            model_name="picklist",
            name="theatre",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="scheduling.theatre",
            ),
        ),
        migrations.AddField(
            model_name="case",
            name="theatre",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cases",
                to="scheduling.theatre",
            ),
        ),
        migrations.CreateModel(
            name="TrayReservation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("freed_at", models.DateTimeField(blank=True, null=True)),
                ("busy_from", models.DateTimeField()),
                ("busy_until", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tray_reservations",
                        to="scheduling.case",
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("freed_at__isnull", True)),
                        fields=("case", "tray"),
                        name="scheduling_tray_reserved_once_a_case",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("busy_until__gt", models.F("busy_from"))),
                        name="scheduling_tray_busy_in_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="UnitReservation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("freed_at", models.DateTimeField(blank=True, null=True)),
                ("used_on", models.DateField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="unit_reservations",
                        to="scheduling.case",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("freed_at__isnull", True)),
                        fields=("unit",),
                        name="scheduling_unit_reserved_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="VerdictSeen",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("verdict", models.CharField(max_length=32)),
                ("at", models.DateTimeField()),
                (
                    "case",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="scheduling.case",
                    ),
                ),
            ],
            options={
                "default_permissions": (),
            },
        ),
        migrations.CreateModel(
            name="Window",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("number", models.PositiveIntegerField()),
                ("components", models.JSONField(blank=True, default=dict)),
                ("facts", models.JSONField(blank=True, default=dict)),
                ("windows", models.JSONField(blank=True, default=dict)),
                ("retired", models.BooleanField(default=False)),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "surgeon",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="windows",
                        to="scheduling.surgeon",
                    ),
                ),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="scheduling.technique",
                    ),
                ),
            ],
            options={
                "ordering": ["surgeon", "technique", "name", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("surgeon", "technique", "name", "number"),
                        name="scheduling_window_number",
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="planversion",
            name="window",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="scheduling.window",
            ),
        ),
        migrations.CreateModel(
            name="AlertTold",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("shown_at", models.DateTimeField()),
                ("acted_at", models.DateTimeField(null=True)),
                (
                    "alert",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="told",
                        to="scheduling.alert",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kit.person",
                    ),
                ),
            ],
            options={
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("alert", "person"), name="scheduling_alert_told_once"
                    )
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="casedecision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("decision", "confirmed"), ("plan__isnull", False)),
                    models.Q(("decision", "postponed"), models.Q(("reason", ""), _negated=True)),
                    _connector="OR",
                ),
                name="scheduling_decision_said",
            ),
        ),
        migrations.AddConstraint(
            model_name="picklist",
            constraint=models.UniqueConstraint(
                fields=("site", "code"), name="scheduling_pick_list_code"
            ),
        ),
        migrations.AddConstraint(
            model_name="picklist",
            constraint=models.UniqueConstraint(
                fields=("theatre", "day"), name="scheduling_pick_list_theatre_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="picklist",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("case__isnull", False), ("day__isnull", True), ("theatre__isnull", True)
                    ),
                    models.Q(
                        ("case__isnull", True), ("day__isnull", False), ("theatre__isnull", False)
                    ),
                    _connector="OR",
                ),
                name="scheduling_pick_list_case_or_day",
            ),
        ),
        migrations.AddConstraint(
            model_name="case",
            constraint=models.UniqueConstraint(fields=("site", "ref"), name="scheduling_case_ref"),
        ),
        migrations.AddConstraint(
            model_name="case",
            constraint=models.CheckConstraint(
                condition=models.Q(("minutes__gte", 1)), name="scheduling_case_minutes"
            ),
        ),
        migrations.AddConstraint(
            model_name="case",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("priority__in", ["immediate", "urgent", "expedited", "elective"]),
                    ("side__in", ["", "left", "right"]),
                    ("status__in", ["booked", "started", "ended", "cancelled"]),
                ),
                name="scheduling_case_choices",
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
        migrations.AddConstraint(
            model_name="planversion",
            constraint=models.UniqueConstraint(
                fields=("case", "number"), name="scheduling_plan_number"
            ),
        ),
    ]
