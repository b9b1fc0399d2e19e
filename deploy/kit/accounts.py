"""The account of a request: read once, with all that every request asks of it."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import Permission, User
from django.db.models import QuerySet

from deploy.kit.right_clock import what_clocks_say


class Accounts(ModelBackend):
    """Django's own accounts and passwords; what one may do comes from its roles alone."""

    def get_user(self, user_id: int) -> User | None:
        """With `person`, its site, and what the clocks say.  One query."""
        users = User._default_manager.select_related("person__site").annotate(**what_clocks_say())
        user = users.filter(pk=user_id).first()
        return user if user is not None and self.user_can_authenticate(user) else None

    def _get_user_permissions(self, user_obj: Any) -> QuerySet[Permission]:
        """A permission given past the roles would be in no table of who may do what."""
        return Permission.objects.none()
