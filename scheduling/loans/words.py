"""A loan in words."""

from __future__ import annotations


def trays_and_boxes(trays: int, boxes: int) -> str:
    """`1 tray and 80 boxes`; empty where there is neither."""
    parts = [f"{trays} tray{'s' * (trays != 1)}" if trays else ""]
    parts.append(f"{boxes} box{'es' * (boxes != 1)}" if boxes else "")
    return " and ".join(part for part in parts if part)
