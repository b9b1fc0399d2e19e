"""A loan of one tray and eleven boxes of two items from one supplier."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from deploy.kit.errors import Refused
from deploy.kit.models import Person
from implants.models import Implant, Supplier
from scheduling.models import Loan
from scheduling.operations.loans.arriving import loan_arrived
from scheduling.operations.loans.asking import Lent, ask_for_loan, begin_loan, promise_loan
from tests import factories
from tests.factories import NOW
from tests.implants.labels import GTIN, stem
from trays.models import ConfigurationVersion, Instrument

OTHER_GTIN = "02345678901241"
DUE = NOW + timedelta(hours=5)
BACK = date(2027, 3, 12)
PLACE = "Loan trolley 2"


@contextmanager
def refuses(code: str) -> Iterator[pytest.ExceptionInfo[Refused]]:
    with pytest.raises(Refused) as refused:
        yield refused
    assert refused.value.code == code


@dataclass(frozen=True)
class Lender:
    supplier: Supplier
    sheet: ConfigurationVersion
    reamer: Instrument
    twelve: Implant
    thirteen: Implant
    who: dict[str, object]

    @property
    def by(self) -> Person:
        return self.who["by"]

    def loan(self, **boxes: int) -> Loan:
        asked = {self.twelve: boxes.get("twelve", 10), self.thirteen: boxes.get("thirteen", 1)}
        return begin_loan(
            supplier=self.supplier,
            lent=Lent([self.sheet.configuration], boxes=asked),
            due_back=BACK,
            **self.who,
        )

    def promised(self, **boxes: int) -> Loan:
        asked = ask_for_loan(loan=self.loan(**boxes), **self.who)
        return promise_loan(loan=asked, expected_at=DUE, **self.who)

    def arrived(self, **boxes: int) -> Loan:
        promised = self.promised(**boxes)
        return loan_arrived(loan=promised, delivery_note="DN 771", place=PLACE, **self.who)


@pytest.fixture
def lender(site, coordinator) -> Lender:
    reamer = factories.instrument(site)
    handle = factories.instrument(site, "HANDLE", "handle")
    return Lender(
        supplier=factories.supplier(site, use_by_days=300),
        sheet=factories.configuration(site, "EXTRACT", {reamer: 2, handle: 1}, kind="extraction"),
        reamer=reamer,
        twelve=stem(site, gtin=GTIN),
        thirteen=stem(site, "STEM-13", gtin=OTHER_GTIN, size=13),
        who={"by": coordinator, "now": NOW},
    )
