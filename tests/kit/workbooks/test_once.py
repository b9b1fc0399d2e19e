"""The same file once: for a site and a kind, and only if its import was kept."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from deploy.kit.models import ImportedFile, Person
from deploy.kit.workbooks.once import AlreadyImported, claim_file

SHA = "ab" * 32

pytestmark = pytest.mark.django_db


def test_a_file_is_claimed_once_and_says_who_was_first(
    coordinator: Person, manager: Person
) -> None:
    claimed = claim_file(kind="shelf", sha256=SHA, by=coordinator)
    claimed.refresh_from_db()
    with pytest.raises(AlreadyImported) as refused:
        claim_file(kind="shelf", sha256=SHA, by=manager)
    assert (refused.value.by, refused.value.at) == (coordinator, claimed.at)
    assert ImportedFile.objects.count() == 1


def test_another_kind_another_site_and_another_file_are_others(
    coordinator: Person, stranger: Person
) -> None:
    claim_file(kind="shelf", sha256=SHA, by=coordinator)
    claim_file(kind="count", sha256=SHA, by=coordinator)
    claim_file(kind="shelf", sha256=SHA, by=stranger)
    claim_file(kind="shelf", sha256="cd" * 32, by=coordinator)
    assert ImportedFile.objects.count() == 4


@transaction.atomic
def failing_import(by: Person) -> None:
    claim_file(kind="shelf", sha256=SHA, by=by)
    raise LookupError("a fault in the last row")


def test_an_import_that_fails_leaves_its_file_free(coordinator: Person) -> None:
    with pytest.raises(LookupError):
        failing_import(coordinator)
    claim_file(kind="shelf", sha256=SHA, by=coordinator)
    assert ImportedFile.objects.count() == 1


def test_the_database_refuses_the_second_row_itself(coordinator: Person) -> None:
    row = {"site": coordinator.site, "kind": "shelf", "sha256": SHA, "by": coordinator}
    ImportedFile.objects.create(**row)
    with pytest.raises(IntegrityError), transaction.atomic():
        ImportedFile.objects.create(**row)
