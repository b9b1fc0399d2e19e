from __future__ import annotations

from typing import Any

from django.contrib.postgres.constraints import ExclusionConstraint


class PostgresExclusion(ExclusionConstraint):
    """An exclusion constraint that exists on PostgreSQL only, and is passed over elsewhere.

    The stock one is written into every database's SQL, which SQLite does not understand.
    """

    def constraint_sql(self, model: Any, schema_editor: Any) -> Any:
        if schema_editor.connection.vendor == "postgresql":
            return super().constraint_sql(model, schema_editor)
        return None

    def create_sql(self, model: Any, schema_editor: Any) -> Any:
        if schema_editor.connection.vendor == "postgresql":
            return super().create_sql(model, schema_editor)
        return None

    def remove_sql(self, model: Any, schema_editor: Any) -> Any:
        if schema_editor.connection.vendor == "postgresql":
            return super().remove_sql(model, schema_editor)
        return None

    def validate(self, *args: Any, **kwargs: Any) -> None:
        """Left to the database: reservations are made by operations, not by forms."""
