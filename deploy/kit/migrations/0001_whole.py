import deploy.kit.models.site
import django.db.models.deletion
import django.db.models.functions.datetime
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("kit", "0001_initial"),
        ("kit", "0002_imported_file"),
        ("kit", "0003_outbox"),
        ("kit", "0004_import_draft"),
        ("kit", "0005_doors"),
        ("kit", "0006_import_second_person"),
    ]

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Tries",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=64, unique=True)),
                ("number", models.PositiveIntegerField()),
                ("last_at", models.DateTimeField(db_index=True)),
            ],
            options={
                "verbose_name_plural": "tries",
            },
        ),
        migrations.CreateModel(
            name="OneTimeCode",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(null=True)),
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
            name="OutboxMessage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=32)),
                ("to", models.EmailField(max_length=254)),
                ("subject", models.CharField(max_length=200)),
                ("body", models.TextField()),
                ("cause", models.CharField(blank=True, max_length=200)),
                (
                    "put_at",
                    models.DateTimeField(db_default=django.db.models.functions.datetime.Now()),
                ),
                (
                    "next_try_at",
                    models.DateTimeField(db_default=django.db.models.functions.datetime.Now()),
                ),
                ("tries", models.PositiveIntegerField(default=0)),
                ("fault", models.CharField(blank=True, max_length=400)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["pk"],
                "default_permissions": (),
                "indexes": [
                    models.Index(
                        condition=models.Q(("sent_at", None)),
                        fields=["next_try_at"],
                        name="kit_outbox_to_send",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("cause", ""), _negated=True),
                        fields=("kind", "to", "cause"),
                        name="kit_outbox_cause_told_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Person",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="person",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Credential",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "badge_hash",
                    models.CharField(editable=False, max_length=64, null=True, unique=True),
                ),
                ("pin_hash", models.CharField(blank=True, editable=False, max_length=128)),
                (
                    "person",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credential",
                        to="kit.person",
                    ),
                ),
            ],
            options={
                "verbose_name": "badge and PIN",
                "verbose_name_plural": "badges and PINs",
            },
        ),
        migrations.CreateModel(
            name="SecurityEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("log-in", "Log In"),
                            ("log-out", "Log Out"),
                            ("lock", "Lock"),
                            ("unlock", "Unlock"),
                            ("switch", "Switch"),
                            ("sign", "Sign"),
                            ("enter", "Enter"),
                            ("password", "Password"),
                            ("PIN", "Pin"),
                            ("badge", "Badge"),
                            ("account", "Account"),
                            ("first run", "First Run"),
                            ("two people", "Two People"),
                            ("role", "Role"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("done", "Done"),
                            ("refused", "Refused"),
                            ("throttled", "Throttled"),
                        ],
                        max_length=16,
                    ),
                ),
                ("address", models.GenericIPAddressField(null=True)),
                ("detail", models.CharField(blank=True, max_length=200)),
                (
                    "about",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "who",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "abstract": False,
                "base_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.SlugField(help_text="Short code, in addresses.", unique=True)),
                ("name", models.CharField(max_length=120)),
                (
                    "timezone",
                    models.CharField(
                        default="UTC",
                        max_length=64,
                        validators=[deploy.kit.models.site.is_timezone],
                    ),
                ),
                (
                    "address",
                    models.URLField(
                        default="http://127.0.0.1:8000",
                        help_text="The address that printed codes open, without a slash at the end.",
                    ),
                ),
                (
                    "asset_prefix",
                    models.CharField(
                        default="0299999",
                        help_text="GS1 company prefix of the site's own assets (trays), digits only.",
                        max_length=12,
                    ),
                ),
                ("clock_set_to", models.DateTimeField(blank=True, null=True)),
                ("clock_started", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("clock_started__isnull", True),
                            ("clock_set_to__isnull", False),
                            _connector="OR",
                        ),
                        name="kit_site_clock_started_needs_set_to",
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="person",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="people", to="kit.site"
            ),
        ),
        migrations.CreateModel(
            name="ImportDraft",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=32)),
                ("name", models.CharField(help_text="What the file was called.", max_length=200)),
                ("data", models.BinaryField()),
                ("at", models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ("rows_read", models.PositiveIntegerField(default=0)),
                ("rows_all", models.PositiveIntegerField(default=0)),
                ("findings", models.JSONField(null=True)),
                (
                    "refused",
                    models.BinaryField(help_text="The refused rows as a workbook.", null=True),
                ),
                ("written_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kit.person",
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        help_text="Who signed beside the sender, where it takes two.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kit.person",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Proposal",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("act", models.CharField(max_length=64)),
                ("values", models.JSONField()),
                (
                    "said",
                    models.CharField(help_text="What will be done, in words.", max_length=300),
                ),
                ("at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "confirmed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "permissions": [("change_roles", "Propose and confirm changes of roles")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("confirmed_by__isnull", True),
                            models.Q(("confirmed_by", models.F("by")), _negated=True),
                            _connector="OR",
                        ),
                        name="kit_proposal_two_people",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("confirmed_by__isnull", True),
                            ("closed_at__isnull", False),
                            _connector="OR",
                        ),
                        name="kit_proposal_confirmed_is_closed",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RequestKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=64)),
                ("body_hash", models.CharField(max_length=64)),
                ("answer", models.JSONField()),
                ("at", models.DateTimeField(auto_now_add=True)),
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
                "constraints": [
                    models.UniqueConstraint(fields=("person", "key"), name="kit_request_key_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="ImportedFile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=32)),
                ("sha256", models.CharField(max_length=64)),
                ("at", models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kit.person",
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
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "kind", "sha256"), name="kit_imported_file_once"
                    )
                ],
            },
        ),
    ]
