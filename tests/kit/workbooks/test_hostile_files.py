"""Files that are no workbook, or no plain one; archives that lie."""

from __future__ import annotations

import random
import zipfile
from collections.abc import Callable

import pytest

from tests.kit.workbooks.packages import (
    BOOK,
    BOOK_TYPE,
    MAIN,
    SHEET,
    STANDARD_TYPES,
    STYLES,
    TEXTS,
    TYPES,
    book,
    line,
    override,
    parts,
    sheet,
    text,
    typed,
    types,
    workbook,
    zipped,
)
from tests.kit.workbooks.shelf import messages
from tests.kit.workbooks.surgery import (
    CENTRAL,
    changed_contents,
    overlapping,
    said_encrypted,
    said_size,
    twice,
    with_part,
)

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)
OFFICE = "application/vnd.openxmlformats-officedocument"
EXCEL = "application/vnd.ms-excel"
SAVE = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx)."
COPY = "Copy the values alone into a new copy of the template."
NOISE = random.Random(1).randbytes(9_000_000)


def of_type(kind: str) -> bytes:
    return workbook({TYPES: types(STANDARD_TYPES.replace(BOOK_TYPE, kind))})


FILES: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty": (lambda: b"", "The file is empty. Choose the file again."),
    "over 10 MB": (
        lambda: b"PK\x03\x04" + bytes(10_000_000),
        "The file is larger than 10 MB. Split it, or take out pictures and unused sheets.",
    ),
    "old xls": (lambda: OLE, f"The file has an old format of Excel (.xls). {SAVE}"),
    "password": (
        lambda: OLE + "EncryptedPackage".encode("utf-16-le") + bytes(64),
        "The workbook is protected by a password. Remove the password that opens it, and "
        "save it again.",
    ),
    "csv": (
        lambda: b"REF,LOT,Use by\r\nAN-012,0042,31/03/2027\r\n",
        "The file is text (such as CSV), whatever its name says. Copy the values into the "
        "template, so that nothing is guessed about zeros and dates.",
    ),
    "csv of another encoding": (
        lambda: "REF;LOT\r\n".encode("utf-16"),
        "The file is text (such as CSV), whatever its name says. Copy the values into the "
        "template, so that nothing is guessed about zeros and dates.",
    ),
    "web page": (
        lambda: b"<html><table><tr><td>REF</td></tr></table></html>",
        f"The file is a web page or XML, whatever its name says. {SAVE}",
    ),
    "xml spreadsheet": (
        lambda: b"\xef\xbb\xbf<?xml version='1.0'?><Workbook/>",
        f"The file is a web page or XML, whatever its name says. {SAVE}",
    ),
    "pdf": (
        lambda: b"%PDF-1.7\n",
        "The file is a PDF, not an .xlsx workbook. Open the spreadsheet itself and save it "
        "as an Excel workbook (.xlsx).",
    ),
    "noise": (
        lambda: bytes(range(1, 200)),
        "The file is not an Excel workbook. Choose the .xlsx file.",
    ),
    "macros by type": (
        lambda: of_type(f"{EXCEL}.sheet.macroEnabled.main+xml"),
        "The workbook holds macros or other active content (“workbook.xml”). Save it as an "
        "Excel workbook without macros (.xlsx).",
    ),
    "macros by part": (
        lambda: workbook({"xl/vbaProject.bin": b"x"}),
        "The workbook holds macros or other active content (“vbaProject.bin”). Save it as an "
        "Excel workbook without macros (.xlsx).",
    ),
    "macro sheet": (
        lambda: workbook({"xl/macrosheets/sheet1.xml": sheet()}),
        "The workbook holds macros or other active content (“sheet1.xml”). Save it as an "
        "Excel workbook without macros (.xlsx).",
    ),
    "binary workbook": (
        lambda: of_type(f"{EXCEL}.sheet.binary.macroEnabled.main"),
        "The file is a binary Excel workbook (.xlsb), not an .xlsx workbook. Open the "
        "spreadsheet itself and save it as an Excel workbook (.xlsx).",
    ),
    "excel template": (
        lambda: of_type(f"{OFFICE}.spreadsheetml.template.main+xml"),
        f"The file is an Excel template (.xltx). {SAVE}",
    ),
    "open document": (
        lambda: zipped(
            {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<a/>"}
        ),
        "The file is an OpenDocument spreadsheet, not an .xlsx workbook. Open the "
        "spreadsheet itself and save it as an Excel workbook (.xlsx).",
    ),
    "word document": (
        lambda: workbook(
            {
                TYPES: types(
                    override("word/document.xml", f"{OFFICE}.wordprocessingml.document.main+xml")
                )
            }
        ),
        "The file is a document of a word processor, not an .xlsx workbook. Open the "
        "spreadsheet itself and save it as an Excel workbook (.xlsx).",
    ),
    "any zip": (
        lambda: zipped({"a.txt": b"a"}),
        "The file is not an Excel workbook. Choose the .xlsx file.",
    ),
    "strict": (
        lambda: workbook(
            {BOOK: book().replace(MAIN, "http://purl.oclc.org/ooxml/spreadsheetml/main")}
        ),
        "The workbook is saved as “Strict Open XML”. Save it as an ordinary Excel workbook "
        "(.xlsx).",
    ),
    "cut in half": (
        lambda: workbook()[:1500],
        f"The workbook is damaged (the archive can't be opened). {SAVE}",
    ),
    "cut at the directory": (
        lambda: workbook()[: workbook().index(CENTRAL) + 20],
        f"The workbook is damaged (the archive can't be opened). {SAVE}",
    ),
    "first bytes only": (
        lambda: b"PK\x03\x04",
        f"The workbook is damaged (the archive can't be opened). {SAVE}",
    ),
    "bytes changed": (
        lambda: changed_contents(workbook(), SHEET),
        f"The workbook is damaged (part “sheet1.xml”). {SAVE}",
    ),
    "sheet part gone": (
        lambda: workbook({SHEET: None}),
        "Sheet “Shelf”: there is no sheet named so; the workbook has none. Name the sheet as "
        "the template does.",
    ),
    "list of contents gone": (
        lambda: workbook({TYPES: None}),
        "The file is not an Excel workbook. Choose the .xlsx file.",
    ),
    "texts gone": (
        lambda: workbook({TEXTS: None, SHEET: sheet(line(A=typed("s", 0)))}),
        f"The workbook is damaged (part “sharedStrings.xml”). {SAVE}",
    ),
    "bomb of zeros": (
        lambda: workbook({"xl/media/image1.png": bytes(50_000_000)}),
        f"Part “xl/media/image1.png” unpacks to more than 100 times its size. {COPY}",
    ),
    "bomb in the sheet": (
        lambda: workbook(
            {SHEET: sheet(line()).replace("</worksheet>", " " * 30_000_000 + "</worksheet>")}
        ),
        f"Part “xl/worksheets/sheet1.xml” unpacks to more than 100 times its size. {COPY}",
    ),
    "unpacks past 100 MB": (
        lambda: zipped(
            {
                **parts(),
                **{f"xl/media/{n}.png": bytes(20_000_000) + NOISE[:300_000] for n in range(6)},
            }
        ),
        f"The workbook unpacks to more than 100 MB. {COPY}",
    ),
    "size understated": (
        lambda: said_size(workbook(), SHEET, 90),
        f"The workbook is damaged (part “sheet1.xml”). {SAVE}",
    ),
    "size overstated": (
        lambda: said_size(workbook(), SHEET, 4_000_000_000),
        f"The workbook unpacks to more than 100 MB. {COPY}",
    ),
    "one part encrypted": (
        lambda: said_encrypted(workbook(), SHEET),
        "The workbook is protected by a password. Remove the password that opens it, and "
        "save it again.",
    ),
    "climbs out": (
        lambda: with_part(workbook(), "../../etc/passwd"),
        f"Part “../../etc/passwd” has a name that points outside the workbook. {COPY}",
    ),
    "from the root": (
        lambda: with_part(workbook(), "/etc/passwd"),
        f"Part “/etc/passwd” has a name that points outside the workbook. {COPY}",
    ),
    "backslashes": (
        lambda: with_part(workbook(), "xl\\..\\evil.xml"),
        f"Part “xl\\..\\evil.xml” has a name that points outside the workbook. {COPY}",
    ),
    "drive": (
        lambda: with_part(workbook(), "C:evil.xml"),
        f"Part “C:evil.xml” has a name that points outside the workbook. {COPY}",
    ),
    "name ends early": (
        lambda: workbook({"xl/media/a_.xml": "<a/>"}).replace(b"media/a_", b"media/a\0"),
        f"Part “xl/media/a\\u0000.xml” has a name that points outside the workbook. {COPY}",
    ),
    "sheet twice": (
        lambda: twice(workbook(), SHEET, sheet(line(A=text("OTHER"))).encode()),
        f"Part “xl/worksheets/sheet1.xml” is in the workbook twice. {SAVE}",
    ),
    "sheet twice in other case": (
        lambda: with_part(workbook(), "XL/worksheets/Sheet1.xml"),
        f"Part “XL/worksheets/Sheet1.xml” is in the workbook twice. {SAVE}",
    ),
    "overlapping parts": (
        lambda: overlapping(workbook(), STYLES, SHEET),
        f"Part “xl/worksheets/sheet1.xml” overlaps another part of the file. {COPY}",
    ),
    "another compression": (
        lambda: with_part(workbook(), "xl/media/a.bin", b"x" * 99, zipfile.ZIP_BZIP2),
        f"Part “xl/media/a.bin” is packed in a way that workbooks do not use. {SAVE}",
    ),
    "1,001 parts": (
        lambda: zipped({**parts(), **{f"xl/media/{n}": b"" for n in range(1_001)}}),
        f"The workbook has more than 1,000 parts. {COPY}",
    ),
}


@pytest.mark.parametrize("name", FILES)
def test_refused_with_its_own_message(name: str) -> None:
    build, message = FILES[name]
    assert messages(build()) == [message]
