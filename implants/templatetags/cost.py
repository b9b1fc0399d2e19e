"""What boxes cost, for templates: `boxes|cost:currency`, `price|money:currency`."""

from __future__ import annotations

from django import template

from implants.cost import cost_in_words, money_in_words

register = template.Library()
register.filter("cost", cost_in_words)
register.filter("money", money_in_words)
