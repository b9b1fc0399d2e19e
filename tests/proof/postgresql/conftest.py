"""Tests of what only PostgreSQL has: many writers at once.

The run on SQLite does not collect them; `deploy/test` runs both.
"""

from __future__ import annotations

from django.conf import settings

if settings.DATABASES["default"]["ENGINE"] != "django.db.backends.postgresql":
    collect_ignore_glob = ["*"]
