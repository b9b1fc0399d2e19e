"""A second reader of workbooks, for checking the first: no limits, no refusals, no shared code."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from xml.etree import ElementTree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
EPOCH, EPOCH_1904 = datetime(1899, 12, 30), datetime(1904, 1, 1)  # noqa: DTZ001  as typed, no zone


@dataclass(frozen=True)
class PlainCell:
    kind: str
    text: str


@dataclass(frozen=True)
class PlainSheet:
    """`rows`: row number → column number → cell, those that hold nothing but blanks left out."""

    rows: dict[int, dict[int, PlainCell]]
    epoch: datetime

    def by_header(self) -> dict[int, dict[str, PlainCell]]:
        """Rows below the first: row number → header in lower case → cell."""
        headers = {at: cell.text.strip().lower() for at, cell in self.rows.get(1, {}).items()}
        return {
            number: {headers.get(at, ""): cell for at, cell in cells.items()}
            for number, cells in self.rows.items()
            if number > 1 and cells
        }

    def day(self, cell: PlainCell) -> date:
        if cell.kind == "n":
            return (self.epoch + timedelta(days=int(Decimal(cell.text)))).date()
        return date.fromisoformat(cell.text.strip()[:10])

    def moment(self, cell: PlainCell) -> datetime:
        if cell.kind == "n":
            moment = self.epoch + timedelta(days=float(cell.text))
            return (moment + timedelta(milliseconds=500)).replace(microsecond=0)
        return datetime.fromisoformat(cell.text.strip())


def read_plainly(data: bytes, name: str) -> PlainSheet:
    """The sheet of that name, in any case."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
        links = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        target = {link.get("Id"): link.get("Target", "") for link in links}
        identity = next(
            sheet.get(RELATION)
            for sheet in book.iter(f"{MAIN}sheet")
            if sheet.get("name", "").strip().lower() == name.lower()
        )
        part = target[identity]
        part = part.lstrip("/") if part.startswith("/") else f"xl/{part}"
        texts: list[str] = []
        if "xl/sharedStrings.xml" in archive.namelist():
            table = ElementTree.fromstring(archive.read("xl/sharedStrings.xml"))
            texts = [text_of(item) for item in table.iter(f"{MAIN}si")]
        sheet = ElementTree.fromstring(archive.read(part))
    settings = book.find(f"{MAIN}workbookPr")
    is_1904 = settings is not None and settings.get("date1904") in ("1", "true")
    return PlainSheet(rows_of(sheet, texts), EPOCH_1904 if is_1904 else EPOCH)


def rows_of(sheet: ElementTree.Element, texts: list[str]) -> dict[int, dict[int, PlainCell]]:
    rows: dict[int, dict[int, PlainCell]] = {}
    number = 0
    for row in sheet.iter(f"{MAIN}row"):
        number = int(row.get("r", number + 1))
        column = 0
        for cell in row.iter(f"{MAIN}c"):
            column = column_of(cell.get("r", "")) or column + 1
            kind = cell.get("t", "n")
            if kind == "inlineStr":
                text = "".join(text_of(inside) for inside in cell.iter(f"{MAIN}is"))
            else:
                text = cell.findtext(f"{MAIN}v") or ""
                text = texts[int(text)] if kind == "s" and text else text
            if text.strip():
                rows.setdefault(number, {})[column] = PlainCell(kind, text)
    return rows


def text_of(element: ElementTree.Element) -> str:
    return "".join(t.text or "" for t in element.iter(f"{MAIN}t"))


def column_of(name: str) -> int:
    column = 0
    for letter in name:
        if letter.isalpha():
            column = column * 26 + ord(letter.upper()) - ord("A") + 1
    return column
