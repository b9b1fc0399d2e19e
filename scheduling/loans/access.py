"""The door to loans: those of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from deploy.kit.models import Person
from scheduling.models import Loan


def loans_for(person: Person) -> QuerySet[Loan]:
    """With supplier and site."""
    return Loan.objects.filter(site=person.site).select_related("supplier", "site")


def loan_for(person: Person, code: str) -> Loan:
    """One loan; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(loans_for(person), code=code)
