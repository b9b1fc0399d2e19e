"""What the pages of sterile services need of templates."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template

register = template.Library()


@register.filter
def at(mapping: Mapping[str, Any], key: str) -> Any:
    """The value at a key; None where there is none."""
    return mapping.get(key)
