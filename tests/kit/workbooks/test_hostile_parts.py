"""XML parts that try to do something, or that a reader would take wrong."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.kit.workbooks.packages import (
    BOOK,
    BOOK_LINKS,
    MAIN,
    SHEET,
    SHEET_LINKS,
    SPREADSHEET,
    STANDARD_LINKS,
    STYLES,
    TEXTS,
    TYPES,
    book,
    line,
    link,
    links,
    override,
    sheet,
    styles,
    types,
    workbook,
)
from tests.kit.workbooks.shelf import messages

SAVE = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx)."
COPY = "Copy the values alone into a new copy of the template."
BILLION_LAUGHS = (
    '<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>'
)
READS_A_FILE = '<!DOCTYPE a [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
OUTSIDE = ' TargetMode="External"'
A_MILLION_TEXTS = "".join(f"<si><t>{n}</t></si>" for n in range(1_000_000))
MANY_STYLES = "".join(f'<xf numFmtId="{n}"/>' for n in range(60_000))
MANY_LETTERS = "".join(f"{n:05}" for n in range(8_000))

PARTS: dict[str, tuple[Callable[[], bytes], str]] = {
    "entities in a sheet": (
        lambda: workbook({SHEET: BILLION_LAUGHS + sheet(line())}),
        f"Part “sheet1.xml” declares a document type or entities. {COPY}",
    ),
    "file read by an entity": (
        lambda: workbook({TEXTS: READS_A_FILE + f'<sst xmlns="{MAIN}"><si><t>&a;</t></si></sst>'}),
        f"Part “sharedStrings.xml” declares a document type or entities. {COPY}",
    ),
    "outside document type": (
        lambda: workbook({BOOK: '<!DOCTYPE workbook SYSTEM "http://203.0.113.1/x.dtd">' + book()}),
        f"Part “workbook.xml” declares a document type or entities. {COPY}",
    ),
    "entities in UTF-16": (
        lambda: workbook({STYLES: (BILLION_LAUGHS + styles()).encode("utf-16")}),
        f"Part “styles.xml” declares a document type or entities. {COPY}",
    ),
    "entities in the links": (
        lambda: workbook({BOOK_LINKS: BILLION_LAUGHS + links(*STANDARD_LINKS)}),
        f"Part “workbook.xml.rels” declares a document type or entities. {COPY}",
    ),
    "not XML": (
        lambda: workbook({SHEET: sheet(line())[:-5]}),
        f"The workbook is damaged (part “sheet1.xml”). {SAVE}",
    ),
    "link to another workbook": (
        lambda: workbook({"xl/externalLinks/externalLink1.xml": f'<externalLink xmlns="{MAIN}"/>'}),
        "The workbook links to other files or data (“externalLink1.xml”). Break the links "
        "(Data, Edit Links) or copy the values alone into the template.",
    ),
    "link by its kind": (
        lambda: workbook(
            {
                BOOK_LINKS: links(
                    *STANDARD_LINKS,
                    link("rId9", "externalLinkPath", "file:///s/prices.xlsx", OUTSIDE),
                )
            }
        ),
        "The workbook links to other files or data (“prices.xlsx”). Break the links (Data, "
        "Edit Links) or copy the values alone into the template.",
    ),
    "outside picture": (
        lambda: workbook(
            {SHEET_LINKS: links(link("rId1", "image", "http://203.0.113.1/a.png", OUTSIDE))}
        ),
        "The workbook links to other files or data (“a.png”). Break the links (Data, Edit "
        "Links) or copy the values alone into the template.",
    ),
    "data connection": (
        lambda: workbook({"xl/connections.xml": f'<connections xmlns="{MAIN}"/>'}),
        "The workbook links to other files or data (“connections.xml”). Break the links "
        "(Data, Edit Links) or copy the values alone into the template.",
    ),
    "embedded file": (
        lambda: workbook({"xl/embeddings/oleObject1.bin": b"x"}),
        f"The workbook holds an embedded file (“oleObject1.bin”). {COPY}",
    ),
    "control": (
        lambda: workbook({"xl/activeX/activeX1.bin": b"x"}),
        "The workbook holds macros or other active content (“activeX1.bin”). Save it as an "
        "Excel workbook without macros (.xlsx).",
    ),
    "sheet from outside": (
        lambda: workbook(
            {BOOK_LINKS: links(link("rId1", "worksheet", "http://203.0.113.1/sheet1.xml"))}
        ),
        "The workbook links to other files or data (“sheet1.xml”). Break the links (Data, "
        "Edit Links) or copy the values alone into the template.",
    ),
    "XML under another name": (
        lambda: workbook(
            {TYPES: types(more=override("xl/evil.bin", f"{SPREADSHEET}.worksheet+xml"))}
        ),
        f"The workbook is damaged (part “evil.bin” has an odd name). {SAVE}",
    ),
    "more texts than cells": (
        lambda: workbook({TEXTS: f'<sst xmlns="{MAIN}">{"<si><t>a</t></si>" * 1_100}</sst>'}),
        f"The workbook stores more texts than it has cells. {COPY}",
    ),
    "a million texts": (
        lambda: workbook({TEXTS: f'<sst xmlns="{MAIN}">{A_MILLION_TEXTS}</sst>'}),
        f"The workbook stores more texts than it has cells. {COPY}",
    ),
    "a long text": (
        lambda: workbook({TEXTS: f'<sst xmlns="{MAIN}"><si><t>{MANY_LETTERS}</t></si></sst>'}),
        f"A text is longer than the 32,767 characters that a cell can hold. {COPY}",
    ),
    "a text of two": (
        lambda: workbook({TEXTS: f'<sst xmlns="{MAIN}"><si><t>AN-0</t><t>12</t></si></sst>'}),
        f"The workbook is damaged (a text is not stored as a text should be). {SAVE}",
    ),
    "escape dropped by readers": (
        lambda: workbook({TEXTS: f'<sst xmlns="{MAIN}"><si><t>L_x005F_1</t></si></sst>'}),
        f"A text holds an escaped character: “L_x005F_1”. {COPY}",
    ),
    "deep": (
        lambda: workbook({STYLES: f'<a xmlns="{MAIN}">' + "<b>" * 9_000 + "</b>" * 9_000 + "</a>"}),
        f"Part “styles.xml” is too complicated (more than 64 levels). {COPY}",
    ),
    "many styles": (
        lambda: workbook({STYLES: styles().replace("<cellXfs>", "<cellXfs>" + MANY_STYLES)}),
        f"Part “styles.xml” is too complicated (more than 50,000 elements). {COPY}",
    ),
    "a tag of 2 MB": (
        lambda: workbook({STYLES: f'<a xmlns="{MAIN}" b="{MANY_LETTERS * 50}"/>'}),
        f"Part “styles.xml” is too complicated (more than 1,000,000 characters in a tag). {COPY}",
    ),
}


@pytest.mark.parametrize("name", PARTS)
def test_refused_with_its_own_message(name: str) -> None:
    build, message = PARTS[name]
    assert messages(build()) == [message]


def test_an_address_behind_a_cell_is_not_followed_and_does_no_harm() -> None:
    address = link("rId1", "hyperlink", "https://203.0.113.1/", OUTSIDE)
    assert messages(workbook({SHEET_LINKS: links(address)})) == []
