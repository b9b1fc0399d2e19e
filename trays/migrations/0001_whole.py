import deploy.kit.catalogue
import django.db.models.deletion
import django.db.models.expressions
import django.db.models.functions.datetime
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("trays", "0001_initial"),
        ("trays", "0002_ledger"),
        ("trays", "0003_first_movements"),
        ("trays", "0004_loads"),
        ("trays", "0005_once_a_request"),
        ("trays", "0006_counts_and_holds"),
    ]

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("kit", "0001_whole"),
    ]

    operations = [
        migrations.CreateModel(
            name="Configuration",
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
                    "kind",
                    models.CharField(
                        help_text="base, add-on, stand-alone, extraction, power, … or supplementary (a pack of a single instrument).",
                        max_length=40,
                    ),
                ),
                ("turnaround_minutes", models.PositiveIntegerField()),
                ("fast_track_minutes", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "code"), name="trays_configuration_code"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("turnaround_minutes__gte", 1)),
                        name="trays_configuration_turnaround",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("fast_track_minutes__isnull", True),
                            ("fast_track_minutes__lte", models.F("turnaround_minutes")),
                            _connector="OR",
                        ),
                        name="trays_configuration_fast_track",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ConfigurationVersion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("made_at", models.DateTimeField()),
                (
                    "configuration",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="versions",
                        to="trays.configuration",
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
                "ordering": ["configuration", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("configuration", "number"), name="trays_version_number"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Count",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("seq", models.PositiveIntegerField()),
                ("opened_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "opened_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.configurationversion",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Handover",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("note", models.TextField(blank=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Instrument",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("ref", models.CharField(max_length=64, verbose_name="REF")),
                ("role", models.CharField(max_length=64)),
                ("name", models.CharField(blank=True, max_length=200)),
                (
                    "attributes",
                    models.JSONField(
                        blank=True, default=dict, validators=[deploy.kit.catalogue.check_attributes]
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
                "ordering": ["ref"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(fields=("site", "ref"), name="trays_instrument_ref"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("ref", ""), _negated=True),
                            models.Q(("role", ""), _negated=True),
                        ),
                        name="trays_instrument_said",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CountLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField()),
                ("expected", models.PositiveIntegerField()),
                ("present", models.PositiveIntegerField(null=True)),
                ("broken", models.PositiveIntegerField(default=0)),
                ("replaced_by", models.CharField(blank=True, max_length=64)),
                ("said_at", models.DateTimeField(null=True)),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="trays.count",
                    ),
                ),
                (
                    "said_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.instrument",
                    ),
                ),
            ],
            options={
                "ordering": ["count", "position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("count", "instrument"), name="trays_count_line_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("present__isnull", True),
                            models.Q(
                                (
                                    "broken__lte",
                                    django.db.models.expressions.CombinedExpression(
                                        models.F("expected"), "-", models.F("present")
                                    ),
                                ),
                                ("present__lte", models.F("expected")),
                            ),
                            _connector="OR",
                        ),
                        name="trays_count_line_adds_up",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Content",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.PositiveIntegerField(default=1)),
                ("position", models.PositiveIntegerField(default=0)),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="contents",
                        to="trays.configurationversion",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.instrument",
                    ),
                ),
            ],
            options={
                "ordering": ["version", "position", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("version", "instrument"), name="trays_content_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 1)), name="trays_content_quantity"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Machine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "code",
                    models.CharField(help_text="As on its label, which is scanned.", max_length=32),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("washer", "Washer"), ("steriliser", "Steriliser")], max_length=16
                    ),
                ),
                (
                    "places",
                    models.PositiveSmallIntegerField(help_text="Trays that it takes at once."),
                ),
                (
                    "cycle_minutes",
                    models.PositiveSmallIntegerField(
                        help_text="From start to end, drying and cooling included."
                    ),
                ),
                ("down_since", models.DateTimeField(blank=True, null=True)),
                ("down_reason", models.CharField(blank=True, max_length=120)),
                (
                    "back_at",
                    models.DateTimeField(
                        blank=True, help_text="When it should be back.", null=True
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
                "ordering": ["kind", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "code"), name="trays_machine_code"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cycle_minutes__gte", 1),
                            ("kind__in", ["washer", "steriliser"]),
                            ("places__gte", 1),
                        ),
                        name="trays_machine_sane",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("down_reason", ""), ("down_since__isnull", True)),
                            models.Q(
                                ("down_since__isnull", False),
                                models.Q(("down_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="trays_machine_down_for_a_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Load",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("open", "Open"),
                            ("running", "Running"),
                            ("awaiting release", "Awaiting Release"),
                            ("passed", "Passed"),
                            ("released", "Released"),
                            ("failed", "Failed"),
                            ("withdrawn", "Withdrawn"),
                        ],
                        default="open",
                        max_length=16,
                    ),
                ),
                (
                    "cycle",
                    models.CharField(
                        blank=True, help_text="The steriliser's cycle.", max_length=16
                    ),
                ),
                ("has_implants", models.BooleanField(default=False)),
                ("opened_at", models.DateTimeField()),
                ("started_at", models.DateTimeField(null=True)),
                ("lowest_celsius", models.DecimalField(decimal_places=1, max_digits=5, null=True)),
                ("highest_celsius", models.DecimalField(decimal_places=1, max_digits=5, null=True)),
                ("held_minutes", models.DecimalField(decimal_places=1, max_digits=5, null=True)),
                ("deviations", models.JSONField(default=list)),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "said",
                    models.CharField(
                        blank=True, help_text="What the person said about it.", max_length=200
                    ),
                ),
                (
                    "biological",
                    models.CharField(
                        choices=[
                            ("not asked for", "Not Asked"),
                            ("awaited", "Awaited"),
                            ("no growth", "No Growth"),
                            ("growth", "Growth"),
                        ],
                        default="not asked for",
                        max_length=16,
                    ),
                ),
                ("biological_at", models.DateTimeField(null=True)),
                ("released_at", models.DateTimeField(null=True)),
                ("withdrawn_at", models.DateTimeField(null=True)),
                (
                    "biological_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "closed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "opened_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "released_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "started_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="loads",
                        to="trays.machine",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.UniqueConstraint(fields=("machine", "number"), name="trays_load_number"),
                    models.UniqueConstraint(
                        condition=models.Q(("state__in", ["open", "running"])),
                        fields=("machine",),
                        name="trays_load_one_at_a_time",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state__in", ["released", "withdrawn"]), _negated=True),
                            models.Q(
                                ("released_at__isnull", False), ("released_by__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="trays_load_released_by_a_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("biological__in", ["not asked for", "awaited", "no growth", "growth"]),
                            (
                                "state__in",
                                [
                                    "open",
                                    "running",
                                    "awaiting release",
                                    "passed",
                                    "released",
                                    "failed",
                                    "withdrawn",
                                ],
                            ),
                        ),
                        name="trays_load_choices",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SterileSettings",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "two_initials",
                    models.BooleanField(
                        default=False,
                        help_text="A second person signs a count sheet before it is closed.",
                    ),
                ),
                (
                    "weight_limit_grams",
                    models.PositiveIntegerField(
                        default=11340,
                        help_text="A heavier pack is warned of; at most 11340 g (25 lb).",
                    ),
                ),
                (
                    "sterile_days",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="A released pack is sterile for so many days. Empty: sterility ends by event.",
                        null=True,
                    ),
                ),
                (
                    "site",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sterile_settings",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "settings of sterile services",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("weight_limit_grams__gte", 1), ("weight_limit_grams__lte", 11340)
                        ),
                        name="trays_settings_weight_limit",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("sterile_days__isnull", True),
                            ("sterile_days__gte", 1),
                            _connector="OR",
                        ),
                        name="trays_settings_sterile_days",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Tray",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=64)),
                (
                    "asset",
                    models.CharField(
                        help_text="GS1 individual asset identifier (GIAI), as on the tray's tag.",
                        max_length=30,
                    ),
                ),
                (
                    "stage",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("returned used", "Returned Used"),
                            ("cleaning", "Cleaning"),
                            ("inspection and assembly", "Assembly"),
                            ("packed", "Packed"),
                            ("sterilising", "Sterilising"),
                            ("awaiting release", "Awaiting Release"),
                            ("sterile store", "Sterile Store"),
                            ("issued", "Issued"),
                            ("in theatre", "In Theatre"),
                            ("quarantine", "Quarantine"),
                            ("repair", "Repair"),
                            ("with supplier", "With Supplier"),
                        ],
                        default="",
                        editable=False,
                        max_length=32,
                    ),
                ),
                ("seq", models.PositiveIntegerField(default=0, editable=False)),
                ("ready_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "expected_at",
                    models.DateTimeField(
                        blank=True,
                        editable=False,
                        help_text="A loan not received yet: when it should be here.",
                        null=True,
                    ),
                ),
                (
                    "sterile_until",
                    models.DateTimeField(
                        blank=True,
                        editable=False,
                        help_text="Empty: sterility ends by event, not by date.",
                        null=True,
                    ),
                ),
                ("case_ref", models.CharField(blank=True, editable=False, max_length=64)),
                ("location", models.CharField(blank=True, max_length=64)),
                (
                    "owner",
                    models.CharField(
                        choices=[
                            ("owned", "Owned"),
                            ("loan", "Loan"),
                            ("consignment", "Consignment"),
                        ],
                        default="owned",
                        max_length=16,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "configuration",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="trays",
                        to="trays.configuration",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        help_text="The count sheet that it was last assembled to.",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.configurationversion",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "permissions": [
                    ("read_trays", "May read trays and their contents"),
                    (
                        "process_trays",
                        "May take trays through sterile services: clean, count, pack, load",
                    ),
                    ("release_loads", "May release, fail and withdraw steriliser loads"),
                    ("return_trays", "May take trays into theatre and back"),
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "code"), name="trays_tray_code"),
                    models.UniqueConstraint(fields=("asset",), name="trays_tray_asset"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("expected_at__isnull", True),
                                ("ready_at__isnull", False),
                                (
                                    "stage__in",
                                    (
                                        "returned used",
                                        "cleaning",
                                        "inspection and assembly",
                                        "packed",
                                        "sterilising",
                                        "awaiting release",
                                        "sterile store",
                                        "issued",
                                        "in theatre",
                                    ),
                                ),
                            ),
                            models.Q(("ready_at__isnull", True), ("stage", "with supplier")),
                            models.Q(
                                ("expected_at__isnull", True),
                                ("ready_at__isnull", True),
                                ("stage__in", ["", "quarantine", "repair", "with supplier"]),
                            ),
                            _connector="OR",
                        ),
                        name="trays_tray_ready_awaited_or_on_hold",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Pack",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("first_seq", models.PositiveIntegerField()),
                ("last_seq", models.PositiveIntegerField(null=True)),
                ("packed_at", models.DateTimeField()),
                ("weight_grams", models.PositiveIntegerField(null=True)),
                (
                    "indicator",
                    models.CharField(
                        blank=True,
                        help_text="The indicator inside, as its label says.",
                        max_length=64,
                    ),
                ),
                ("shortages", models.JSONField(default=dict)),
                ("loaded_at", models.DateTimeField(null=True)),
                (
                    "load",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packs",
                        to="trays.load",
                    ),
                ),
                (
                    "loaded_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "packed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packs",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "ordering": ["tray", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("tray", "number"), name="trays_pack_number"),
                    models.UniqueConstraint(
                        condition=models.Q(("last_seq__isnull", True)),
                        fields=("tray",),
                        name="trays_pack_one_a_tray",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_seq__isnull", True),
                            ("last_seq__gt", models.F("first_seq")),
                            _connector="OR",
                        ),
                        name="trays_pack_in_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MissingLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.PositiveIntegerField(default=1)),
                ("noted_at", models.DateTimeField(auto_now_add=True)),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.instrument",
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="missing_lines",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "ordering": ["tray", "instrument__ref"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("tray", "instrument"), name="trays_missing_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 1)), name="trays_missing_quantity"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Hold",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("wet pack", "Wet"),
                            ("hole in the wrap", "Hole"),
                            ("broken seal", "Seal"),
                            ("indicator unchanged", "Indicator"),
                            ("count not closed", "Count"),
                            ("infection", "Infection"),
                            ("repair", "Repair"),
                            ("load failed or withdrawn", "Load"),
                            ("other", "Other"),
                        ],
                        max_length=32,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=80)),
                (
                    "case_ref",
                    models.CharField(
                        blank=True, help_text="The case that it was for.", max_length=64
                    ),
                ),
                ("back_on", models.DateField(blank=True, null=True)),
                ("at", models.DateTimeField()),
                ("lifted_at", models.DateTimeField(null=True)),
                ("lifted_note", models.CharField(blank=True, max_length=120)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lifted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="holds",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("lifted_at__isnull", True)),
                        fields=("tray",),
                        name="trays_hold_one_a_tray",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lifted_at__isnull", True), ("lifted_by__isnull", True)),
                            models.Q(("lifted_at__isnull", False), ("lifted_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="trays_hold_lifted_by_a_person",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="count",
            name="tray",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="counts", to="trays.tray"
            ),
        ),
        migrations.CreateModel(
            name="TrayMove",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("from_state", models.CharField(blank=True, max_length=32)),
                ("to_state", models.CharField(max_length=32)),
                ("kind", models.CharField(max_length=32)),
                ("two_people", models.BooleanField(default=False)),
                ("reasoned", models.BooleanField(default=False)),
                ("unsigned", models.BooleanField(default=False)),
            ],
            options={
                "abstract": False,
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("from_state", "to_state", "kind"), name="trays_traymove_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TrayMovement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("seq", models.PositiveIntegerField()),
                ("at", models.DateTimeField()),
                ("day", models.DateField()),
                (
                    "recorded_at",
                    models.DateTimeField(
                        db_default=django.db.models.functions.datetime.Now(), editable=False
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=120)),
                ("case_ref", models.CharField(blank=True, max_length=64)),
                (
                    "station",
                    models.CharField(blank=True, help_text="Where it was recorded.", max_length=64),
                ),
                ("request_key", models.CharField(blank=True, max_length=64)),
                ("ready_at", models.DateTimeField(blank=True, null=True)),
                ("expected_at", models.DateTimeField(blank=True, null=True)),
                ("sterile_until", models.DateTimeField(blank=True, null=True)),
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
                    "move",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="trays.traymove",
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        help_text="The second person, where the act takes two.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "ordering": ["tray", "seq"],
                "abstract": False,
                "default_permissions": ("view",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("second__isnull", True),
                            models.Q(("second", models.F("by")), _negated=True),
                            _connector="OR",
                        ),
                        name="trays_traymovement_two_differ",
                    ),
                    models.UniqueConstraint(fields=("tray", "seq"), name="trays_tray_movement_seq"),
                    models.UniqueConstraint(
                        condition=models.Q(("request_key", ""), _negated=True),
                        fields=("by", "request_key", "tray", "move"),
                        name="trays_tray_movement_once_a_request",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Wash",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("seq", models.PositiveIntegerField()),
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
                    "load",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="washes",
                        to="trays.load",
                    ),
                ),
                (
                    "tray",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="washes",
                        to="trays.tray",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("load", "tray"), name="trays_wash_once_a_load")
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="count",
            constraint=models.UniqueConstraint(
                condition=models.Q(("closed_at__isnull", True)),
                fields=("tray",),
                name="trays_count_one_open",
            ),
        ),
        migrations.AddConstraint(
            model_name="count",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("closed_at__isnull", True), ("closed_by__isnull", False), _connector="OR"
                ),
                name="trays_count_closed_by_a_person",
            ),
        ),
        migrations.AddConstraint(
            model_name="count",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("second__isnull", True),
                    models.Q(("second", models.F("closed_by")), _negated=True),
                    _connector="OR",
                ),
                name="trays_count_two_differ",
            ),
        ),
    ]
