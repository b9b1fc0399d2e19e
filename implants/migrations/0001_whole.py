import deploy.kit.catalogue
import django.db.models.deletion
import django.db.models.functions.datetime
import implants.validators
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("implants", "0001_initial"),
        ("implants", "0002_ledger"),
        ("implants", "0003_first_movements"),
        ("implants", "0004_standing"),
        ("implants", "0005_label_codes"),
        ("implants", "0006_once_a_request"),
        ("implants", "0007_orders"),
        ("implants", "0008_receiving_counts_recalls"),
        ("implants", "0009_found_by_lot"),
    ]

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("kit", "0001_whole"),
    ]

    operations = [
        migrations.CreateModel(
            name="Count",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("places", models.JSONField()),
                ("at_place", models.CharField(max_length=64)),
                ("is_blind", models.BooleanField(default=True)),
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
                "permissions": [("count_shelf", "May count the shelf")],
                "default_permissions": (),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at", None), ("closed_by", None)),
                            models.Q(("closed_at__isnull", False), ("closed_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="implants_count_closed_by_somebody",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Implant",
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
                ("maker", models.CharField(blank=True, max_length=120)),
                (
                    "gtin",
                    models.CharField(
                        blank=True,
                        max_length=14,
                        validators=[implants.validators.is_gtin],
                        verbose_name="GTIN",
                    ),
                ),
                ("lead_days", models.PositiveIntegerField(blank=True, null=True)),
                ("replaced_on_use", models.BooleanField(default=False)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
                (
                    "superseded_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supersedes",
                        to="implants.implant",
                    ),
                ),
            ],
            options={
                "ordering": ["ref"],
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="LabelCode",
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
                        help_text="A GTIN of 14 digits, or LIC, PCN and unit of measure of a HIBC code.",
                        max_length=40,
                    ),
                ),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="label_codes",
                        to="implants.implant",
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
                "verbose_name": "code on labels",
                "verbose_name_plural": "codes on labels",
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "code"), name="implants_label_code_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("code", ""), _negated=True),
                        name="implants_label_code_said",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Order",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=24, verbose_name="order number")),
                (
                    "state",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("draft", "Draft"),
                            ("sent", "Sent"),
                            ("confirmed", "Confirmed"),
                            ("closed", "Closed"),
                            ("cancelled", "Cancelled"),
                        ],
                        default="",
                        editable=False,
                        max_length=32,
                    ),
                ),
                ("seq", models.PositiveIntegerField(default=0, editable=False)),
                ("supplier_ref", models.CharField(blank=True, editable=False, max_length=64)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "permissions": [("order_implants", "May order implants and set par levels")],
            },
        ),
        migrations.CreateModel(
            name="OrderLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "owner",
                    models.CharField(
                        choices=[
                            ("owned", "Owned"),
                            ("consignment", "Consignment"),
                            ("loan", "Loan"),
                        ],
                        default="owned",
                        max_length=16,
                    ),
                ),
                (
                    "terms",
                    models.CharField(
                        choices=[
                            ("buy", "Buy"),
                            ("bill the used box and send another", "Bill And Replace"),
                            ("bill the used box, send none", "Bill Only"),
                        ],
                        default="buy",
                        max_length=40,
                    ),
                ),
                ("quantity", models.PositiveIntegerField()),
                ("not_coming", models.PositiveIntegerField(default=0)),
                ("why", models.TextField(blank=True)),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
                (
                    "instead_of",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="substitutes",
                        to="implants.orderline",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="implants.order",
                    ),
                ),
            ],
            options={
                "ordering": ["order", "pk"],
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("order", "implant", "owner", "terms"),
                        name="implants_order_line_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("not_coming__lte", models.F("quantity")), ("quantity__gte", 1)
                        ),
                        name="implants_order_line_quantity",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderMove",
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
                        fields=("from_state", "to_state", "kind"), name="implants_ordermove_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderMovement",
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
                ("supplier_ref", models.CharField(blank=True, max_length=64)),
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
                        to="implants.ordermove",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="implants.order",
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
            ],
            options={
                "ordering": ["order", "seq"],
                "abstract": False,
                "default_permissions": ("view",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("second__isnull", True),
                            models.Q(("second", models.F("by")), _negated=True),
                            _connector="OR",
                        ),
                        name="implants_ordermovement_two_differ",
                    ),
                    models.UniqueConstraint(
                        fields=("order", "seq"), name="implants_order_movement_seq"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ParLevel",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("level", models.PositiveIntegerField()),
                ("basis", models.TextField(blank=True)),
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
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="par_levels",
                        to="implants.implant",
                    ),
                ),
            ],
            options={
                "ordering": ["implant", "pk"],
                "default_permissions": (),
            },
        ),
        migrations.CreateModel(
            name="Recall",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("title", models.CharField(max_length=100)),
                ("is_drill", models.BooleanField(default=False)),
                ("withdrawn", models.BooleanField(default=False)),
                ("note", models.CharField(blank=True, max_length=200)),
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
                    "closed_second",
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
                "permissions": [
                    ("read_recalls", "May read recalls and scan what is retrieved"),
                    ("open_recall", "May open a recall"),
                    ("close_recall", "May close a recall, as one of two"),
                    ("read_recipients", "May see which cases received a recalled implant"),
                ],
                "default_permissions": (),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("closed_at", None),
                                ("closed_by", None),
                                ("closed_second", None),
                                ("withdrawn", False),
                            ),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                ("closed_second__isnull", False),
                                models.Q(("closed_by", models.F("closed_second")), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="implants_recall_closed_by_two",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RecallLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("lot", models.CharField(blank=True, max_length=40, verbose_name="LOT")),
                ("serial", models.CharField(blank=True, max_length=40)),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="implants.recall",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("recall", "implant", "lot", "serial"),
                        name="implants_recall_line_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ShelfSettings",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "least_days_left",
                    models.PositiveIntegerField(
                        default=90,
                        help_text="A box that arrives with fewer days to its use-by date goes to quarantine.",
                    ),
                ),
                (
                    "count_every_days",
                    models.PositiveIntegerField(
                        default=90, help_text="Every place is counted at least this often."
                    ),
                ),
                (
                    "site",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="shelf_settings",
                        to="kit.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "shelf settings",
            },
        ),
        migrations.CreateModel(
            name="Supplier",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=24)),
                ("name", models.CharField(max_length=120)),
                (
                    "account",
                    models.CharField(
                        blank=True,
                        help_text="The number under which they know this house.",
                        max_length=40,
                    ),
                ),
                (
                    "contact",
                    models.CharField(
                        blank=True,
                        help_text="Where orders go: an address or a telephone number.",
                        max_length=120,
                    ),
                ),
                ("lead_days", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "cut_off_minute",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Minutes after midnight; empty: the house's own cut-off.",
                        null=True,
                    ),
                ),
                (
                    "use_by_days",
                    models.PositiveIntegerField(
                        default=365,
                        help_text="Boxes come with at least so many days before their use-by date.",
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
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "code"), name="implants_supplier_code"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("code", ""), _negated=True),
                            models.Q(("name", ""), _negated=True),
                        ),
                        name="implants_supplier_said",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cut_off_minute__isnull", True),
                            ("cut_off_minute__lt", 1440),
                            _connector="OR",
                        ),
                        name="implants_supplier_minute_of_day",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="order",
            name="supplier",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="orders",
                to="implants.supplier",
            ),
        ),
        migrations.AddField(
            model_name="implant",
            name="supplier",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="implants",
                to="implants.supplier",
            ),
        ),
        migrations.CreateModel(
            name="SupplierClosedDate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField()),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="closed_dates",
                        to="implants.supplier",
                    ),
                ),
            ],
            options={
                "ordering": ["day"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("supplier", "day"), name="implants_supplier_closed_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Unit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=64)),
                ("lot", models.CharField(blank=True, max_length=40, verbose_name="LOT")),
                ("serial", models.CharField(blank=True, max_length=40)),
                ("expiry", models.DateField(blank=True, null=True, verbose_name="use by")),
                ("does_not_expire", models.BooleanField(default=False)),
                (
                    "state",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("awaited", "Awaited"),
                            ("on the shelf", "On The Shelf"),
                            ("picked", "Picked"),
                            ("quarantine", "Quarantine"),
                            ("recalled", "Recalled"),
                            ("implanted", "Implanted"),
                            ("wasted", "Wasted"),
                            ("returned to supplier", "Returned"),
                            ("entered in error", "Struck"),
                        ],
                        default="",
                        editable=False,
                        max_length=32,
                    ),
                ),
                ("seq", models.PositiveIntegerField(default=0, editable=False)),
                ("expected_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("location", models.CharField(blank=True, max_length=64)),
                (
                    "owner",
                    models.CharField(
                        choices=[
                            ("owned", "Owned"),
                            ("consignment", "Consignment"),
                            ("loan", "Loan"),
                        ],
                        default="owned",
                        max_length=16,
                    ),
                ),
                ("hold", models.CharField(blank=True, editable=False, max_length=120)),
                ("case_ref", models.CharField(blank=True, editable=False, max_length=64)),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="implants.implant",
                    ),
                ),
                (
                    "order_line",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="boxes",
                        to="implants.orderline",
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
                "ordering": ["code"],
                "permissions": [("read_shelf", "May read the catalogue and the shelf")],
                "indexes": [
                    models.Index(fields=["site", "lot"], name="implants_unit_by_lot"),
                    models.Index(fields=["site", "serial"], name="implants_unit_by_serial"),
                    models.Index(fields=["site", "case_ref"], name="implants_unit_by_case_ref"),
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "code"), name="implants_unit_code"),
                    models.UniqueConstraint(
                        condition=models.Q(("serial", ""), _negated=True),
                        fields=("implant", "serial"),
                        name="implants_unit_serial",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("does_not_expire", False), ("expiry__isnull", False)),
                            models.Q(("does_not_expire", True), ("expiry__isnull", True)),
                            _connector="OR",
                        ),
                        name="implants_unit_expiry_said",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("expected_at__isnull", False), ("hold", ""), ("state", "awaited")
                            ),
                            models.Q(
                                ("state__in", ("quarantine", "recalled")),
                                models.Q(("hold", ""), _negated=True),
                            ),
                            models.Q(
                                ("expected_at__isnull", True),
                                ("hold", ""),
                                (
                                    "state__in",
                                    [
                                        "",
                                        "on the shelf",
                                        "picked",
                                        "implanted",
                                        "wasted",
                                        "returned to supplier",
                                        "entered in error",
                                    ],
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="implants_unit_standing",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Replacement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=120)),
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
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="replaces",
                        to="implants.orderline",
                    ),
                ),
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replacement",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "default_permissions": (),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("line__isnull", False),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="implants_replacement_said",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RecallBox",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("was", models.CharField(max_length=32)),
                ("place", models.CharField(blank=True, max_length=64)),
                ("case_ref", models.CharField(blank=True, max_length=64)),
                ("done_at", models.DateTimeField(null=True)),
                ("note", models.CharField(blank=True, max_length=120)),
                (
                    "done_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="boxes",
                        to="implants.recall",
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
                "ordering": ["place", "pk"],
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("recall", "unit"), name="implants_recall_box_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Credit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("reason", models.CharField(max_length=120)),
                ("at", models.DateTimeField()),
                ("number", models.CharField(blank=True, max_length=40)),
                ("settled_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "settled_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credits",
                        to="implants.supplier",
                    ),
                ),
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credit",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "default_permissions": (),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("number", ""),
                                ("settled_at__isnull", True),
                                ("settled_by__isnull", True),
                            ),
                            models.Q(
                                ("settled_at__isnull", False),
                                ("settled_by__isnull", False),
                                models.Q(("number", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="implants_credit_settled_with_number",
                    )
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
                ("place", models.CharField(max_length=64)),
                (
                    "found",
                    models.CharField(
                        choices=[
                            ("expected", "Expected"),
                            ("belongs elsewhere", "Elsewhere"),
                            ("not in the record", "Not In Record"),
                        ],
                        max_length=24,
                    ),
                ),
                ("seq", models.PositiveIntegerField(default=0)),
                ("read", models.CharField(blank=True, max_length=200)),
                ("counted_at", models.DateTimeField(null=True)),
                (
                    "explained",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("missing", "Missing"),
                            ("put away here", "Put Away"),
                            ("put back where it belongs", "Put Back"),
                            ("to be received", "To Receive"),
                            ("moved meanwhile", "Moved"),
                            ("explained", "Other"),
                        ],
                        max_length=32,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=120)),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="implants.count",
                    ),
                ),
                (
                    "counted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "implant",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["place", "pk"],
                "default_permissions": (),
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("unit__isnull", False)),
                        fields=("count", "unit"),
                        name="implants_count_line_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("found", "expected"), _negated=True),
                            ("unit__isnull", False),
                            _connector="OR",
                        ),
                        name="implants_count_line_expects_a_box",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Arrival",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("text", models.CharField(max_length=400)),
                ("item", models.CharField(blank=True, max_length=40)),
                ("lot", models.CharField(blank=True, max_length=40)),
                ("serial", models.CharField(blank=True, max_length=40)),
                ("expiry", models.DateField(null=True)),
                ("does_not_expire", models.BooleanField(default=False)),
                ("quantity", models.PositiveIntegerField(null=True)),
                ("ref_on_label", models.CharField(blank=True, max_length=64)),
                (
                    "owner",
                    models.CharField(
                        choices=[
                            ("owned", "Owned"),
                            ("consignment", "Consignment"),
                            ("loan", "Loan"),
                        ],
                        default="owned",
                        max_length=16,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("half read", "Half"),
                            ("to be put away", "Waiting"),
                            ("received", "Received"),
                            ("in quarantine", "Quarantine"),
                            ("not in the catalogue", "Not In Catalogue"),
                            ("linked to the catalogue", "Linked"),
                            ("not received", "Set Aside"),
                        ],
                        max_length=24,
                    ),
                ),
                ("findings", models.JSONField(default=list)),
                ("cautions", models.JSONField(default=list)),
                ("note", models.CharField(blank=True, max_length=120)),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "ended_by",
                    models.ForeignKey(
                        null=True,
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
                (
                    "implant",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.implant",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "permissions": [("receive", "May receive boxes and put them away")],
                "default_permissions": (),
                "indexes": [
                    models.Index(fields=["site", "outcome"], name="implants_arrival_outcome")
                ],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("outcome__in", ("half read", "to be put away"))),
                        fields=("site", "by"),
                        name="implants_arrival_one_in_hand",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("outcome__in", ["received", "in quarantine"]),
                                ("unit__isnull", False),
                            ),
                            models.Q(("outcome__in", ["received", "in quarantine"]), _negated=True),
                            _connector="OR",
                        ),
                        name="implants_arrival_entered",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="UnitMove",
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
                        fields=("from_state", "to_state", "kind"), name="implants_unitmove_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="UnitMovement",
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
                ("hold", models.CharField(blank=True, max_length=120)),
                ("expected_at", models.DateTimeField(blank=True, null=True)),
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
                        to="implants.unitmove",
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
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="implants.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["unit", "seq"],
                "abstract": False,
                "default_permissions": ("view",),
                "indexes": [models.Index(fields=["case_ref"], name="implants_unit_movement_case")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("second__isnull", True),
                            models.Q(("second", models.F("by")), _negated=True),
                            _connector="OR",
                        ),
                        name="implants_unitmovement_two_differ",
                    ),
                    models.UniqueConstraint(
                        fields=("unit", "seq"), name="implants_unit_movement_seq"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("request_key", ""), _negated=True),
                        fields=("by", "request_key", "unit", "move"),
                        name="implants_unit_movement_once_a_request",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="UseRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "owner",
                    models.CharField(
                        choices=[
                            ("owned", "Owned"),
                            ("consignment", "Consignment"),
                            ("loan", "Loan"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "on_use",
                    models.CharField(
                        choices=[
                            ("order another", "Replace"),
                            ("bill it and order another", "Bill And Replace"),
                            ("bill it, order none", "Bill Only"),
                            ("the supplier replaces it without an order", "By Itself"),
                        ],
                        max_length=48,
                    ),
                ),
                (
                    "implant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="use_rules",
                        to="implants.implant",
                    ),
                ),
            ],
            options={
                "ordering": ["implant", "owner"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("implant", "owner"), name="implants_use_rule_once"
                    )
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="order",
            constraint=models.UniqueConstraint(fields=("site", "code"), name="implants_order_code"),
        ),
        migrations.AddConstraint(
            model_name="implant",
            constraint=models.UniqueConstraint(fields=("site", "ref"), name="implants_implant_ref"),
        ),
        migrations.AddConstraint(
            model_name="implant",
            constraint=models.UniqueConstraint(
                condition=models.Q(("gtin", ""), _negated=True),
                fields=("site", "gtin"),
                name="implants_implant_gtin",
            ),
        ),
        migrations.AddConstraint(
            model_name="implant",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("ref", ""), _negated=True), models.Q(("role", ""), _negated=True)
                ),
                name="implants_implant_said",
            ),
        ),
    ]
