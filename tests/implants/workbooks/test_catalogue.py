"""The catalogue's workbook, on both databases."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest

from deploy.kit.imports.importing import Proposal, import_workbook, propose
from deploy.kit.imports.results import Outcome
from deploy.kit.models import ImportedFile, Person, Site
from deploy.kit.workbooks.once import AlreadyImported
from deploy.kit.workbooks.values import Value
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Implant, Supplier
from implants.workbooks.catalogue import SHEET, Catalogue
from tests import factories

CATALOGUE = Catalogue()
GTIN = "02000000000015"
OTHER = "02000000000022"
STEM = {"REF": "STEM-12", "Role": "stem", "GTIN": GTIN, "Lead days": 2, "Size": 12}


def proposed(site: Site, *rows: Mapping[str, Value | None]) -> Proposal:
    data = write_workbook(CATALOGUE.spec, {SHEET: rows})
    return propose(CATALOGUE, data, site=site, now=factories.NOW)


def outcomes(proposal: Proposal) -> list[tuple[Outcome, tuple[str, ...]]]:
    return [(row.outcome, row.reasons) for row in proposal.comparison.rows]


@pytest.mark.django_db
def test_looking_changes_nothing(site: Site, coordinator: Person) -> None:
    assert outcomes(proposed(site, STEM)) == [(Outcome.NEW, ())]
    assert not Implant.objects.exists()
    assert not ImportedFile.objects.exists()


@pytest.mark.django_db
def test_new_rows_are_written_and_then_the_same(site: Site, coordinator: Person) -> None:
    done = import_workbook(proposed(site, STEM), by=coordinator, now=factories.NOW)
    assert done.ok
    made = Implant.objects.get()
    assert (made.ref, made.gtin, made.lead_days, made.attributes) == (
        "STEM-12",
        GTIN,
        2,
        {"size": 12},
    )
    assert outcomes(proposed(site, STEM)) == [(Outcome.SAME, ())]


@pytest.mark.django_db
def test_a_changed_row_says_what_changes(site: Site, coordinator: Person) -> None:
    import_workbook(proposed(site, STEM), by=coordinator, now=factories.NOW)
    after = proposed(site, {**STEM, "Lead days": 5})
    changes = after.comparison.rows[0].differences
    assert [(one.column, one.before, one.after) for one in changes] == [("Lead days", "2", "5")]
    import_workbook(after, by=coordinator, now=factories.NOW)
    assert Implant.objects.get().lead_days == 5


@pytest.mark.django_db
def test_a_supplier_is_written_compared_and_taken_away(site: Site, coordinator: Person) -> None:
    north = Supplier.objects.create(site=site, code="NORTH", name="Maker North")
    sent = {**STEM, "Supplier": "NORTH"}
    import_workbook(proposed(site, sent), by=coordinator, now=factories.NOW)
    assert Implant.objects.get().supplier == north
    assert outcomes(proposed(site, sent)) == [(Outcome.SAME, ())]
    none = proposed(site, {**STEM, "Supplier": None})
    assert [(one.before, one.after) for one in none.comparison.rows[0].differences] == [
        ("NORTH", "")
    ]
    import_workbook(none, by=coordinator, now=factories.NOW)
    assert Implant.objects.get().supplier is None


@pytest.mark.django_db
def test_a_supplier_that_nobody_entered_is_refused_by_name(site: Site, stranger: Person) -> None:
    Supplier.objects.create(site=stranger.site, code="NORTH", name="Maker North")
    asked = {**STEM, "Supplier": "NORTH"}
    (none,) = proposed(site, asked).comparison.rows
    assert none.reasons == ("Supplier: NORTH is not known. Enter it under Suppliers first.",)
    Supplier.objects.create(site=site, code="SOUTH", name="Maker South")
    (another,) = proposed(site, asked).comparison.rows
    assert another.reasons == (
        "Supplier: NORTH is not known; there are SOUTH. Enter it under Suppliers first.",
    )


@pytest.mark.django_db
def test_a_price_is_written_compared_and_taken_away(site: Site, coordinator: Person) -> None:
    priced = {**STEM, "Price": Decimal("1240.50")}
    import_workbook(proposed(site, priced), by=coordinator, now=factories.NOW)
    assert Implant.objects.get().price == Decimal("1240.50")
    assert outcomes(proposed(site, priced)) == [(Outcome.SAME, ())]
    after = proposed(site, {**STEM, "Price": 1300})
    changes = after.comparison.rows[0].differences
    assert [(one.column, one.before, one.after) for one in changes] == [("Price", "1240.5", "1300")]
    import_workbook(proposed(site, {**STEM, "Price": None}), by=coordinator, now=factories.NOW)
    assert Implant.objects.get().price is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("price", "said"),
    [
        ("-1", "Price: -1 is less than nothing. Enter the agreed price, or leave the cell empty."),
        ("12.505", "Price: 12.505 has more than 2 decimals. Enter it as on the invoice."),
        ("100000000", "Price: 100000000 is no price of one box. Compare it with the agreement."),
    ],
)
def test_no_price(site: Site, coordinator: Person, price: str, said: str) -> None:
    found = outcomes(proposed(site, {**STEM, "Price": Decimal(price)}))
    assert found == [(Outcome.REFUSED, (said,))]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("days", "said"),
    [
        (-2, "Lead days: holds “-2”, which is less than nothing. Write digits alone."),
        (10_001, "Lead days: 0 to 10000."),
    ],
)
def test_no_lead(site: Site, coordinator: Person, days: int, said: str) -> None:
    proposal = proposed(site, {**STEM, "Lead days": days})
    assert proposal.comparison.reasons() == {(SHEET, 2): [said]}
    assert not import_workbook(proposal, by=coordinator, now=factories.NOW).ok


@pytest.mark.django_db
def test_one_refused_row_keeps_all_of_them_out(site: Site, coordinator: Person) -> None:
    factories.implant(site, "HEAD-1", role="head")
    proposal = proposed(site, STEM, {"REF": "HEAD-1", "Role": "stem"})
    assert outcomes(proposal) == [
        (Outcome.NEW, ()),
        (
            Outcome.REFUSED,
            (
                "Role: HEAD-1 is a head; what plans and boxes refer to keeps its role. "
                "Enter another REF.",
            ),
        ),
    ]
    assert not import_workbook(proposal, by=coordinator, now=factories.NOW).ok
    assert [one.ref for one in Implant.objects.all()] == ["HEAD-1"]
    assert not ImportedFile.objects.exists()


@pytest.mark.django_db
def test_a_gtin_has_one_ref(site: Site, coordinator: Person) -> None:
    import_workbook(proposed(site, STEM), by=coordinator, now=factories.NOW)
    twice = {"REF": "A", "Role": "head", "GTIN": OTHER}
    reasons = outcomes(
        proposed(site, twice, {**twice, "REF": "B"}, {"REF": "C", "Role": "head", "GTIN": GTIN})
    )
    said = f"GTIN: {OTHER} stands in 2 rows. Each REF has its own."
    assert reasons == [
        (Outcome.REFUSED, (said,)),
        (Outcome.REFUSED, (said,)),
        (Outcome.REFUSED, (f"GTIN: {GTIN} is that of STEM-12. Compare it with the label.",)),
    ]


@pytest.mark.django_db
def test_a_gtin_may_go_to_another_ref_within_one_file(site: Site, coordinator: Person) -> None:
    import_workbook(proposed(site, STEM), by=coordinator, now=factories.NOW)
    moved = proposed(site, {**STEM, "GTIN": None}, {"REF": "STEM-13", "Role": "stem", "GTIN": GTIN})
    assert import_workbook(moved, by=coordinator, now=factories.NOW).ok
    assert dict(Implant.objects.values_list("ref", "gtin")) == {"STEM-12": "", "STEM-13": GTIN}


@pytest.mark.django_db
def test_the_same_file_is_written_once(site: Site, coordinator: Person) -> None:
    proposal = proposed(site, STEM)
    import_workbook(proposal, by=coordinator, now=factories.NOW)
    with pytest.raises(AlreadyImported):
        import_workbook(proposal, by=coordinator, now=factories.NOW)


@pytest.mark.django_db
def test_a_row_that_fits_no_column_is_refused_and_handed_back(
    site: Site, coordinator: Person
) -> None:
    proposal = proposed(site, STEM, {"REF": "STEM-13", "Role": "stem", "Lead days": "soon"})
    assert [row.outcome for row in proposal.comparison.rows] == [Outcome.NEW, Outcome.REFUSED]
    back = propose(CATALOGUE, proposal.refused_workbook(), site=site, now=factories.NOW)
    assert [row.what for row in back.comparison.rows] == ["STEM-13"]


@pytest.mark.django_db
def test_what_changed_since_the_look_is_said_and_nothing_is_written(
    site: Site, coordinator: Person
) -> None:
    proposal = proposed(site, STEM)
    factories.implant(site, "STEM-12", role="head")
    assert not import_workbook(proposal, by=coordinator, now=factories.NOW).ok
    assert Implant.objects.get().role == "head"
