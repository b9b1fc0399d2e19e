from __future__ import annotations

from typing import Any

from django.apps import AppConfig, apps
from django.conf import settings
from django.contrib.auth.signals import user_logged_in
from django.core import checks
from django.db.models.signals import post_migrate
from django.utils.module_loading import import_string

from deploy.kit.guards import added_only, keep


def make_roles(**kwargs: Any) -> None:
    """Bring the groups and their permissions to what the roles table says, after each migrate."""
    Group = apps.get_model("auth", "Group")
    Permission = apps.get_model("auth", "Permission")
    by_name = {
        f"{permission.content_type.app_label}.{permission.codename}": permission
        for permission in Permission.objects.select_related("content_type")
    }
    for role, names in settings.MUSTER_ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set(by_name[name] for name in names if name in by_name)


class KitConfig(AppConfig):
    name = "deploy.kit"
    label = "kit"
    verbose_name = "Site and people"

    def ready(self) -> None:
        post_migrate.connect(make_roles, dispatch_uid="kit.make_roles")
        # By name: what has models can be imported only now.
        user_logged_in.connect(import_string("deploy.kit.sessions.begin_at_log_in"))
        for check in ("site_clocks", "migrations_are_done", "rights_of_the_server"):
            checks.register(
                import_string(f"deploy.kit.checks.{check}"), checks.Tags.database, deploy=True
            )
        keep(
            self,
            added_only(
                "kit_security_event",
                "kit_securityevent",
                says="the security log is added to, never changed",
            ),
        )
