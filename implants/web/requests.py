"""The request as a guarded view gets it."""

from __future__ import annotations

from django.http import HttpRequest

from deploy.kit.models import Person


class PersonsRequest(HttpRequest):
    """`person` is set by the door: who acts, and where."""

    person: Person
