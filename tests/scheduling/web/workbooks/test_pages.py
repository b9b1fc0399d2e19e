"""The pages on which workbooks go out and come in."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook

from deploy.kit.models import ImportDraft, Person, Site
from deploy.kit.workbooks.reading import load, read_workbook
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Implant
from implants.workbooks.catalogue import SHEET, Catalogue
from scheduling.workbooks.registry import BY_SLUG
from tests import factories

ClientOf = Callable[[Person], Client]
SPEC = Catalogue.spec
STEM = {"REF": "STEM-12", "Role": "stem"}


def send(client: Client, data: bytes, kind: str = "catalogue") -> str:
    """The address of the draft's page."""
    file = SimpleUploadedFile("mine.xlsx", data)
    return client.post(reverse("workbook_send", args=[kind]), {"file": file}).headers["Location"]


def workbook(*rows: dict[str, object]) -> bytes:
    return write_workbook(SPEC, {SHEET: rows})


def said(client: Client, page: str) -> str:
    return client.get(page).content.decode()


def test_a_workbook_is_sent_looked_at_and_written(coordinator: Person, client_of: ClientOf) -> None:
    client = client_of(coordinator)
    page = send(client, workbook(STEM))
    assert "Nothing is changed by looking at it" in said(client, page)
    client.post(page, {"act": "look"})
    assert "This is what would change" in said(client, page)
    assert not Implant.objects.exists()
    client.post(page, {"act": "write"})
    assert "Written" in said(client, page)
    assert Implant.objects.get().ref == "STEM-12"
    assert bytes(ImportDraft.objects.get().data) == b""


def test_it_is_written_once(coordinator: Person, client_of: ClientOf) -> None:
    client, file = client_of(coordinator), workbook(STEM)
    page = send(client, file)
    client.post(page, {"act": "look"})
    client.post(page, {"act": "write"})
    client.post(page, {"act": "write"})
    assert "“mine.xlsx” is written already." in said(client, page)
    again = send(client, file)
    client.post(again, {"act": "look"})
    client.post(again, {"act": "write"})
    assert "This very file was imported before, by Coordinator" in said(client, again)


def test_nothing_is_written_before_it_was_looked_at(
    coordinator: Person, client_of: ClientOf
) -> None:
    client = client_of(coordinator)
    page = send(client, workbook(STEM))
    client.post(page, {"act": "write"})
    assert "“mine.xlsx” was not looked at yet." in said(client, page)
    assert not Implant.objects.exists()


def test_refused_rows_come_back_as_a_workbook(coordinator: Person, client_of: ClientOf) -> None:
    client = client_of(coordinator)
    page = send(client, workbook(STEM, {"REF": "HEAD-1", "Role": "head", "Lead days": "soon"}))
    client.post(page, {"act": "look"})
    shown = said(client, page)
    assert "Nothing can be written yet" in shown
    assert "Lead days: " in shown
    answer = client.get(page + "refused/")
    reading = read_workbook(answer.content, SPEC)
    assert [row.stood["REF"] for row in reading.sheets[SHEET].rows] == ["HEAD-1"]
    client.post(page, {"act": "write"})
    assert not Implant.objects.exists()


def test_a_file_of_another_kind_has_no_rows_to_hand_back(
    coordinator: Person, client_of: ClientOf
) -> None:
    client = client_of(coordinator)
    page = send(client, workbook(STEM), kind="house")
    client.post(page, {"act": "look"})
    shown = said(client, page)
    assert "there is no sheet named so" in shown
    assert "The refused rows" not in shown
    assert "Mend the file, and" in shown
    assert client.get(page + "refused/").status_code == 404


def test_a_gtin_that_stood_as_a_number_is_compared_first(
    coordinator: Person, client_of: ClientOf
) -> None:
    book = load(workbook({**STEM, "GTIN": "02000000000015"}))
    rows = [[cell.value for cell in row] for row in book[SHEET].iter_rows()]
    client = client_of(coordinator)
    page = send(client, with_number(rows))
    client.post(page, {"act": "look"})
    assert "I compared them with the labels" in said(client, page)
    client.post(page, {"act": "write"})
    assert "Compare the GTINs with the labels, and tick that you did." in said(client, page)
    assert not Implant.objects.exists()
    client.post(page, {"act": "write", "confirmed": "yes"})
    assert Implant.objects.get().gtin == "02000000000015"


def with_number(rows: list[list[object]]) -> bytes:
    """The rows with the GTIN as a spreadsheet makes it: a number, its zero lost."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = SHEET
    at = rows[0].index("GTIN")
    for number, row in enumerate(rows):
        sheet.append([int(str(v)) if number and n == at else v for n, v in enumerate(row)])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_file_that_is_no_workbook_says_so(coordinator: Person, client_of: ClientOf) -> None:
    client = client_of(coordinator)
    page = send(client, b"%PDF-1.7")
    client.post(page, {"act": "look"})
    assert "a PDF" in said(client, page)


@pytest.mark.parametrize("slug", BY_SLUG)
def test_every_kind_has_a_template_and_an_export(
    slug: str, coordinator: Person, client_of: ClientOf
) -> None:
    client = client_of(coordinator)
    for name in ("workbook_template", "workbook_export"):
        answer = client.get(reverse(name, args=[slug]))
        sheets = {sheet.name for sheet in BY_SLUG[slug].spec.sheets}
        assert sheets <= set(load(answer.content).sheetnames)


def test_whoever_may_only_read_sends_nothing(
    manager: Person, surgeon: Person, client_of: ClientOf
) -> None:
    for person in (manager, surgeon):
        client = client_of(person)
        file = SimpleUploadedFile("mine.xlsx", workbook(STEM))
        answer = client.post(reverse("workbook_send", args=["catalogue"]), {"file": file})
        assert answer.status_code == 403
    assert not ImportDraft.objects.exists()


def test_a_draft_is_its_senders_own(
    site: Site, coordinator: Person, stranger: Person, client_of: ClientOf
) -> None:
    page = send(client_of(coordinator), workbook(STEM))
    other = factories.person(site, "second", "implant coordinator")
    for person in (other, stranger):
        client = client_of(person)
        answers = [
            client.get(page),
            client.post(page, {"act": "write"}),
            client.get(page + "progress/"),
        ]
        assert {answer.status_code for answer in answers} <= {403, 404}


def test_more_than_five_hundred_rows_take_a_second_person(
    site: Site, coordinator: Person, sterile_services: Person, client_of: ClientOf
) -> None:
    second = factories.person(site, "second", "implant coordinator")
    for person in (second, sterile_services):
        person.user.set_password(factories.PASSWORD)
        person.user.save()
    client = client_of(coordinator)
    page = send(client, workbook(*({"REF": f"S-{n}", "Role": "stem"} for n in range(501))))
    client.post(page, {"act": "look"})
    assert "More than 500 rows take a second person." in said(client, page)
    for name, why in (
        ("", "This takes a second person"),
        ("coordinator", "this takes two different people"),
        ("sterile", "may not sign this"),
    ):
        client.post(page, {"act": "write", "second": name, "second_pin": factories.PASSWORD})
        assert why in said(client, page)
        assert not Implant.objects.exists()
    client.post(page, {"act": "write", "second": "second", "second_pin": factories.PASSWORD})
    assert Implant.objects.count() == 501
    assert ImportDraft.objects.get().second == second


def test_progress_says_how_far_reading_is(coordinator: Person, client_of: ClientOf) -> None:
    client = client_of(coordinator)
    page = send(client, workbook(*({"REF": f"S-{n}", "Role": "stem"} for n in range(600))))
    assert client.get(page + "progress/").json() == {"read": 0, "all": 0}
    client.post(page, {"act": "look"})
    assert client.get(page + "progress/").json() == {"read": 500, "all": 601}
