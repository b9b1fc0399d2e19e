"""The door to orders: those of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from deploy.kit.models import Person
from implants.models import Order


def orders_for(person: Person) -> QuerySet[Order]:
    """One query, with supplier and site."""
    return Order.objects.filter(site=person.site).select_related("supplier", "site")


def order_for(person: Person, code: str) -> Order:
    """One order; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(orders_for(person), code=code)
