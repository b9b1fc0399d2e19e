"""The commands by which workbooks come in and go out."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.models import Person
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Implant
from implants.workbooks.catalogue import SHEET, Catalogue


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "catalogue.xlsx"
    path.write_bytes(write_workbook(Catalogue.spec, {SHEET: [{"REF": "S-1", "Role": "stem"}]}))
    return path


def run(*arguments: object) -> str:
    out = StringIO()
    call_command("import_workbook", *map(str, arguments), stdout=out, stderr=StringIO())
    return out.getvalue()


def test_looking_says_every_row_and_changes_nothing(book: Path, coordinator: Person) -> None:
    said = run("catalogue", book, "--by", "coordinator")
    assert said == "Implants, row 2: new: S-1\n0 refused, 1 new, 0 changed, 0 same\n"
    assert not Implant.objects.exists()


def test_write_writes(book: Path, coordinator: Person) -> None:
    assert run("catalogue", book, "--by", "coordinator", "--write").endswith("Written: 1 rows.\n")
    assert Implant.objects.get().ref == "S-1"


def test_a_refused_file_writes_nothing_and_is_handed_back(
    tmp_path: Path, coordinator: Person
) -> None:
    path, back = tmp_path / "bad.xlsx", tmp_path / "back.xlsx"
    path.write_bytes(write_workbook(Catalogue.spec, {SHEET: [{"REF": "S-1"}]}))
    with pytest.raises(CommandError, match=r"Nothing was written\."):
        run("catalogue", path, "--by", "coordinator", "--write", "--refused", back)
    assert back.stat().st_size > 0
    assert not Implant.objects.exists()


def test_whoever_may_not_is_refused(book: Path, manager: Person) -> None:
    with pytest.raises(CommandError, match="may not import this"):
        run("catalogue", book, "--by", "manager", "--write")


def test_nobody_is_nobody(book: Path, manager: Person) -> None:
    with pytest.raises(CommandError, match="Nobody with a place of work"):
        run("catalogue", book, "--by", "nobody")


def test_an_export_comes_back_as_the_same(tmp_path: Path, book: Path, coordinator: Person) -> None:
    run("catalogue", book, "--by", "coordinator", "--write")
    out = tmp_path / "out.xlsx"
    call_command("export_workbook", "catalogue", str(out), stdout=StringIO())
    assert run("catalogue", out, "--by", "coordinator").endswith("0 changed, 1 same\n")
