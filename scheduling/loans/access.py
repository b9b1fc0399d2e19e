"""The door to loans: those of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import Http404

from deploy.kit.models import Person
from scheduling.models import Loan


def loans_for(person: Person) -> QuerySet[Loan]:
    """With supplier and site."""
    return Loan.objects.filter(site=person.site).select_related("supplier", "site")


def loan_for(person: Person, code: str) -> Loan:
    """One loan; Http404 alike where there is none and where it is another site's."""
    loan = loans_for(person).filter(code=code).first()
    if loan is None:
        raise Http404("no such loan")
    return loan
