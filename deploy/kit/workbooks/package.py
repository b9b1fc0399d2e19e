"""What the workbook says of its own parts: kinds of contents, and links between them."""

from __future__ import annotations

import re
from pathlib import PurePosixPath
from posixpath import normpath

from deploy.kit.workbooks.faults import Refused, quoted
from deploy.kit.workbooks.limits import Limits
from deploy.kit.workbooks.words import Code
from deploy.kit.workbooks.xml_part import PartScan, main, short

TYPES = "[Content_Types].xml"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
_IDS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
OVERRIDE, DEFAULT, LINK = f"{_TYPES} Override", f"{_TYPES} Default", f"{_LINKS} Relationship"

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
TEMPLATE = "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml"
TEXTS = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
BINARY = "application/vnd.ms-excel.sheet.binary.macroEnabled.main"

ACTIVE = re.compile(r"vbaproject|activex|/macrosheets/|/dialogsheets/|/ctrlprops/", re.IGNORECASE)
OUTSIDE = re.compile(r"/externallinks/|/connections\.xml|/querytables/|/model/", re.IGNORECASE)
EMBEDDED = re.compile(r"/embeddings/|oleobject", re.IGNORECASE)
XML_PARTS = (".xml", ".rels")
DRAWINGS_OF_NOTES = ".vml"
"""Old drawings, often not XML at all; nobody reads them here."""

OTHER_PACKAGES = (
    ("wordprocessingml", "a document of a word processor"),
    ("presentationml", "a presentation"),
    ("opendocument.spreadsheet", "an OpenDocument spreadsheet"),
    ("opendocument.", "an OpenDocument file"),
)


def check_part_names(names: list[str], mimetype: bytes) -> None:
    """Refuse other packages and parts that act or that reach outside, by their names."""
    if TYPES not in names:
        said = mimetype.decode("ascii", "replace")
        for mark, name in OTHER_PACKAGES:
            if mark in said:
                raise Refused(Code.OTHER_FORMAT, format=name)
        raise Refused(Code.NOT_A_WORKBOOK)
    for name in names:
        check_reach(f"/{name}", name)


def check_reach(searched: str, part: str) -> None:
    if ACTIVE.search(searched):
        raise Refused(Code.MACROS, part=quoted(short(part)))
    if OUTSIDE.search(searched):
        raise Refused(Code.EXTERNAL_LINK, part=quoted(short(part)))
    if EMBEDDED.search(searched):
        raise Refused(Code.EMBEDDED, part=quoted(short(part)))


class TypesScan(PartScan):
    """The list of contents: it must be a plain workbook, all of its XML under names of XML."""

    def __init__(self, part: str, limits: Limits) -> None:
        super().__init__(part, limits)
        self.workbooks: list[str] = []
        self.texts: set[str] = set()

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        super().start(tag, attributes)
        if tag in (OVERRIDE, DEFAULT):
            part = attributes.get("PartName", "")
            self.check(attributes.get("ContentType", ""), part, named=tag == OVERRIDE)

    def check(self, kind: str, part: str, *, named: bool) -> None:
        for mark, name in OTHER_PACKAGES:
            if mark in kind and kind.endswith("main+xml"):
                raise Refused(Code.OTHER_FORMAT, format=name)
        if kind == BINARY:
            raise Refused(Code.OTHER_FORMAT, format="a binary Excel workbook (.xlsb)")
        if "macroenabled" in kind.casefold():
            raise Refused(Code.MACROS, part=quoted(short(part)))
        if kind == TEMPLATE:
            raise Refused(Code.TEMPLATE_FILE)
        if kind == WORKBOOK and named:
            self.workbooks.append(part.lstrip("/"))
        if kind == TEXTS:
            self.texts.add(part.lstrip("/"))
        if named and kind.endswith("xml") and not part.endswith((*XML_PARTS, DRAWINGS_OF_NOTES)):
            raise Refused(Code.DAMAGED, detail=f"part {quoted(short(part))} has an odd name")

    @property
    def workbook(self) -> str:
        """The part that lists the sheets."""
        if len(self.workbooks) != 1:
            raise Refused(Code.NOT_A_WORKBOOK)
        return self.workbooks[0]


class LinksScan(PartScan):
    """The links of one part.  An address behind a cell is never followed; others are refused."""

    def __init__(self, part: str, limits: Limits) -> None:
        super().__init__(part, limits)
        self.targets: dict[str, str] = {}

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        super().start(tag, attributes)
        if tag != LINK:
            return
        kind, target = attributes.get("Type", ""), attributes.get("Target", "")
        if kind.endswith("/hyperlink"):
            return
        if attributes.get("TargetMode", "").casefold() == "external" or "://" in target:
            raise Refused(Code.EXTERNAL_LINK, part=quoted(short(target)))
        check_reach(f"{kind}/{target}", target)
        base = PurePosixPath(self.owner).parent
        self.targets[attributes.get("Id", "")] = normpath(base / target).lstrip("/")

    @property
    def owner(self) -> str:
        """The part whose links these are: `xl/_rels/a.xml.rels` has those of `xl/a.xml`."""
        path = PurePosixPath(self.part)
        return str(path.parent.parent / path.stem)


class SheetListScan(PartScan):
    """The workbook's own part: its sheets' names, and which link leads to each."""

    def __init__(self, part: str, limits: Limits) -> None:
        super().__init__(part, limits)
        self.links: dict[str, str] = {}
        self.in_list = False

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        super().start(tag, attributes)
        if self.depth == 1 and tag != main("workbook"):
            raise Refused(Code.DAMAGED, detail=f"part {quoted(short(self.part))}")
        if self.depth == 2:
            self.in_list = tag == main("sheets")
        elif self.depth == 3 and self.in_list:
            # The reader behind us takes anything in the list for a sheet.
            if tag != main("sheet") or f"{_IDS} id" not in attributes:
                raise Refused(Code.DAMAGED, detail="a sheet that leads nowhere")
            self.links[attributes[f"{_IDS} id"]] = attributes.get("name", "")
