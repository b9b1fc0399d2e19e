from __future__ import annotations

from typing import Any, NoReturn

from django.db import models


class AppendOnlyError(TypeError):
    """A program tried to change or delete what is added and never edited."""

    def __init__(self, model: type[models.Model]) -> None:
        super().__init__(f"{model.__name__} is added and never edited; add another one instead")


class AppendOnlyQuerySet(models.QuerySet[Any]):
    def _refuse(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AppendOnlyError(self.model)

    update = delete = bulk_update = update_or_create = _refuse


class AppendOnly(models.Model):
    """A row that is added once.  Raises AppendOnlyError for any change through the models."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True
        # Also when another row's cascade or a related manager reaches for it.
        base_manager_name = "objects"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise AppendOnlyError(type(self))
        super().save(*args, **{**kwargs, "force_insert": True})

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AppendOnlyError(type(self))
