"""What the page of used and wasted boxes needs of templates."""

from __future__ import annotations

from django import template

from scheduling.used.words import cost_in_words, money_in_words

register = template.Library()
register.filter("cost", cost_in_words)
register.filter("money", money_in_words)
