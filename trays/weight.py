"""How heavy a packed tray may be."""

from __future__ import annotations

LIMIT_GRAMS = 11_340
"""25 lb with all contents: ANSI/AAMI ST77, 4.3.5, as quoted in an education article.  Where the
house sets less, the house's value counts."""


def weight_warning(grams: int | None, limit_grams: int = LIMIT_GRAMS) -> str:
    """What to say about a pack's weight; empty where it is in the limit or was not weighed."""
    if grams is None or grams <= limit_grams:
        return ""
    return f"{grams / 1000:.2f} kg, over the limit of {limit_grams / 1000:.2f} kg"


HEAVIEST_KG = 100


def grams_typed(text: str) -> int | None:
    """Kilograms as typed, decimal comma or point; None where nothing was typed.  ValueError."""
    text = text.strip().lower().removesuffix("kg").strip().replace(",", ".")
    if not text:
        return None
    try:
        kilograms = float(text)
    except ValueError:
        raise ValueError(f"weight: kilograms as a number, not “{text[:20]}”") from None
    if not 0 < kilograms < HEAVIEST_KG:
        raise ValueError(f"weight: more than 0 and less than {HEAVIEST_KG} kg")
    return round(kilograms * 1000)
