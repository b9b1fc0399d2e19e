"""The account of a request: read once, with all that every request asks of it."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import User
from django.db import connection, models
from django.db.models.expressions import RawSQL

from deploy.kit.right_clock import what_clocks_say

PERMISSIONS = """
SELECT {joined}(app_label || '.' || codename, ' ') FROM auth_user_groups
JOIN auth_group_permissions USING (group_id)
JOIN auth_permission ON auth_permission.id = permission_id
JOIN django_content_type ON django_content_type.id = content_type_id
WHERE auth_user_groups.user_id = auth_user.id
"""
JOINED = {"sqlite": "group_concat", "postgresql": "string_agg"}


class Accounts(ModelBackend):
    """Django's own accounts and passwords; what one may do comes from its roles alone."""

    def get_user(self, user_id: int) -> User | None:
        """With `person`, its site, what it may do, and what the clocks say.  One query."""
        may = RawSQL(PERMISSIONS.format(joined=JOINED[connection.vendor]), (), models.TextField())
        users = User._default_manager.select_related("person__site")
        user = users.annotate(may=may, **what_clocks_say()).filter(pk=user_id).first()
        return user if user is not None and self.user_can_authenticate(user) else None

    def get_group_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """As read with the account; of one that was read otherwise, one query."""
        if not hasattr(user_obj, "may") or user_obj.is_superuser or obj is not None:
            return super().get_group_permissions(user_obj, obj)
        return set((user_obj.may or "").split())

    def get_user_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """None: given past the roles, it would be in no table of who may do what."""
        return set()
