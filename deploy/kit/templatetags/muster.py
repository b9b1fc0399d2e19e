"""How the pages say times, days, spans and verdicts; all given as local values.

Django's own `date` filter turns every moment into UTC here (the server's zone), so the pages use
these filters, which print a moment in the zone that it carries.  Views hand over moments that
are local to the site (`site.local`).
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import slugify

from deploy.kit.page_writes import FIELD, new_key

register = template.Library()


@register.filter
def clock(moment: datetime) -> str:
    """`07:00`"""
    return f"{moment:%H:%M}"


@register.filter
def day(moment: date) -> str:
    """`Mon 1 Mar`"""
    return f"{moment:%a} {moment.day} {moment:%b}"


@register.filter
def long_day(moment: date) -> str:
    """`Monday 1 March 2027`"""
    return f"{moment:%A} {moment.day} {moment:%B %Y}"


@register.filter
def full_date(moment: date) -> str:
    """`31 Dec 2031`: for use-by dates, where the year matters."""
    return f"{moment.day} {moment:%b %Y}"


@register.filter
def span(minutes: int) -> str:
    """A length of time, two units at most: `45 min`, `2 h 10 min`, `3 d 4 h`."""
    size = abs(minutes)
    days, rest = divmod(size, 24 * 60)
    hours, left = divmod(rest, 60)
    if days:
        return f"{days} d {hours} h" if hours else f"{days} d"
    if hours:
        return f"{hours} h {left:02d} min" if left else f"{hours} h"
    return f"{left} min"


@register.simple_tag
def request_key() -> SafeString:
    """In a form, beside the CSRF token: what it asks for takes effect once."""
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, new_key())


@register.inclusion_tag("components/_verdict.html")
def verdict(word: str, *, large: bool = False) -> dict[str, Any]:
    """The verdict: the word first, then its own shape; never a colour alone."""
    text = str(word)
    return {"word": text[:1].upper() + text[1:], "slug": slugify(text), "large": large}


@register.inclusion_tag("components/_box.html")
def box(state: str) -> dict[str, str]:
    """A boxed implant's glyph, by its state on the shelf."""
    return {"state": state}
