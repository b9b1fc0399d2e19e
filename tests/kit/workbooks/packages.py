"""Workbooks put together by hand, so that each part can be wrong in its own way."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from xml.sax.saxutils import escape

from tests.kit.workbooks.shelf import HEADERS

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
IDS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
KINDS = "http://schemas.openxmlformats.org/package/2006/content-types"
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"

SHEET, TEXTS, BOOK, STYLES = (
    "xl/worksheets/sheet1.xml",
    "xl/sharedStrings.xml",
    "xl/workbook.xml",
    "xl/styles.xml",
)
TYPES, BOOK_LINKS, SHEET_LINKS = (
    "[Content_Types].xml",
    "xl/_rels/workbook.xml.rels",
    "xl/worksheets/_rels/sheet1.xml.rels",
)

FORMATS = {"general": 0, "date": 14, "month": 17, "day": 16, "time": 20, "moment": 22, "text": 49}
"""Name → number of a built-in number format; the styles of the workbook, in this order."""
STYLE = {name: at for at, name in enumerate(FORMATS)}
DAY = 46_477
"""31 March 2027, counted from 1900."""


def text(value: str, name: str = "", style: str = "general") -> str:
    """A cell with its text inside; `name` such as B2 where it must be said."""
    return (
        f'<c{at(name)} t="inlineStr" s="{STYLE[style]}">'
        f'<is><t xml:space="preserve">{escape(value)}</t></is></c>'
    )


def number(value: object, name: str = "", style: str = "general") -> str:
    return f'<c{at(name)} s="{STYLE[style]}"><v>{value}</v></c>'


def typed(kind: str, value: object, name: str = "", style: str = "general") -> str:
    return f'<c{at(name)} t="{kind}" s="{STYLE[style]}"><v>{value}</v></c>'


def formula(said: str, value: object = "", name: str = "") -> str:
    return f"<c{at(name)}><f>{escape(said)}</f>" + (f"<v>{value}</v>" if value else "") + "</c>"


def at(name: str) -> str:
    return f' r="{name}"' if name else ""


def row(number_: int, *cells: str, more: str = "") -> str:
    return f'<row r="{number_}"{more}>{"".join(cells)}</row>'


HEADER = row(1, *map(text, HEADERS))
GOOD = {"A": text("AN-012"), "B": text("L0042"), "D": number(DAY, style="date")}


def line(number_: int = 2, **changed: str) -> str:
    """A good row with some cells, by letter, put in the place of the good ones."""
    cells = {**GOOD, **changed}
    named = [
        cell.replace("<c", f'<c r="{letter}{number_}"', 1)
        for letter, cell in sorted(cells.items())
        if cell
    ]
    return row(number_, *named)


def sheet(*rows: str, before: str = "", after: str = "", header: str = HEADER) -> str:
    return (
        f'<worksheet xmlns="{MAIN}">{before}<sheetData>{header}{"".join(rows)}</sheetData>'
        f"{after}</worksheet>"
    )


def book(name: str = "Shelf", *, more: str = "", before: str = "", state: str = "visible") -> str:
    return (
        f'<workbook xmlns="{MAIN}" xmlns:r="{IDS}">{before}<sheets>'
        f'<sheet name="{name}" sheetId="1" r:id="rId1" state="{state}"/>{more}</sheets></workbook>'
    )


def override(part: str, kind: str) -> str:
    return f'<Override PartName="/{part}" ContentType="{kind}"/>'


def link(identity: str, kind: str, target: str, more: str = "") -> str:
    return f'<Relationship Id="{identity}" Type="{IDS}/{kind}" Target="{target}"{more}/>'


def links(*inside: str) -> str:
    return f'<Relationships xmlns="{LINKS}">{"".join(inside)}</Relationships>'


BOOK_TYPE = f"{SPREADSHEET}.sheet.main+xml"
STANDARD_TYPES = "".join(
    (
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>',
        override(BOOK, BOOK_TYPE),
        override(SHEET, f"{SPREADSHEET}.worksheet+xml"),
        override(STYLES, f"{SPREADSHEET}.styles+xml"),
        override(TEXTS, f"{SPREADSHEET}.sharedStrings+xml"),
    )
)
STANDARD_LINKS = (
    link("rId1", "worksheet", "worksheets/sheet1.xml"),
    link("rId2", "styles", "styles.xml"),
    link("rId3", "sharedStrings", "sharedStrings.xml"),
)


def types(inside: str = STANDARD_TYPES, more: str = "") -> str:
    return f'<Types xmlns="{KINDS}">{inside}{more}</Types>'


def styles() -> str:
    cells = "".join(f'<xf numFmtId="{number_}" xfId="0"/>' for number_ in FORMATS.values())
    return (
        f'<styleSheet xmlns="{MAIN}"><fonts><font/></fonts>'
        "<fills><fill><patternFill/></fill></fills><borders><border/></borders>"
        f'<cellStyleXfs><xf numFmtId="0"/></cellStyleXfs><cellXfs>{cells}</cellXfs>'
        '<cellStyles><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )


def parts(changed: Mapping[str, str | bytes | None] | None = None) -> dict[str, bytes]:
    """The parts of a good workbook with one row; `changed` replaces, adds or (None) removes."""
    made: dict[str, str | bytes | None] = {
        TYPES: types(),
        "_rels/.rels": links(link("rId1", "officeDocument", BOOK)),
        BOOK: book(),
        BOOK_LINKS: links(*STANDARD_LINKS),
        STYLES: styles(),
        TEXTS: f'<sst xmlns="{MAIN}"><si><t>AN-013</t></si></sst>',
        SHEET: sheet(line()),
        **(changed or {}),
    }
    return {
        name: content.encode() if isinstance(content, str) else content
        for name, content in made.items()
        if content is not None
    }


def zipped(contents: Mapping[str, bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression) as archive:
        for name, content in contents.items():
            archive.writestr(zipfile.ZipInfo(name), content, compression)
    return out.getvalue()


def workbook(changed: Mapping[str, str | bytes | None] | None = None) -> bytes:
    return zipped(parts(changed))


def with_rows(*rows: str, before: str = "", after: str = "", header: str = HEADER) -> bytes:
    return workbook({SHEET: sheet(*rows, before=before, after=after, header=header)})


def with_cell(letter: str, cell: str) -> bytes:
    """A good row but for one cell."""
    return with_rows(line(2, **{letter: cell}))
