"""The whole file looked through before the reader sees it: `inspect(data) -> Facts`.

Everything is unpacked once as a stream and counted; nothing of it is kept but the facts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from zipfile import ZipFile

from deploy.kit.workbooks.archive import ZIP_ERRORS, open_archive
from deploy.kit.workbooks.faults import Refused, quoted
from deploy.kit.workbooks.limits import LIMITS, MB, Limits
from deploy.kit.workbooks.package import (
    TYPES,
    XML_PARTS,
    LinksScan,
    SheetListScan,
    TypesScan,
    check_part_names,
)
from deploy.kit.workbooks.shared_texts import SharedTextsScan
from deploy.kit.workbooks.sheet_scan import SheetFacts, SheetScan
from deploy.kit.workbooks.upload import check_kind
from deploy.kit.workbooks.words import Code
from deploy.kit.workbooks.xml_part import PIECE, PartScan, run, short

MIMETYPE = "mimetype"
MIMETYPE_READ = 200
SPARE_TEXTS = 1_000
"""A program may leave some texts behind that no cell has any more."""


@dataclass(frozen=True, slots=True)
class Facts:
    """`sheets`: the facts of each sheet, by the name of its part in the archive."""

    sheets: Mapping[str, SheetFacts]


class Inspection:
    """One walk over an archive; counts what was unpacked so far, whatever its directory says."""

    def __init__(self, archive: ZipFile, limits: Limits) -> None:
        self.archive, self.limits = archive, limits
        self.unpacked = 0
        self.names: dict[str, str] = {}
        self.sheets: dict[str, SheetFacts] = {}
        self.cells = self.characters = 0

    def facts(self) -> Facts:
        parts = self.archive.namelist()
        check_part_names(parts, self.mimetype(parts))
        types = TypesScan(TYPES, self.limits)
        self.scan(types)
        self.name_the_sheets(parts, types.workbook)
        for part in parts:
            if part in (TYPES, types.workbook, *types.texts) or part.endswith(".rels"):
                continue
            if part.endswith(XML_PARTS):
                self.scan_sheet(part)
            else:
                self.count_bytes_of(part)
        # After the sheets, whose cells bound their number.
        for part in sorted(types.texts):
            self.scan(SharedTextsScan(part, self.limits, self.cells + SPARE_TEXTS))
        return Facts(self.sheets)

    def mimetype(self, parts: list[str]) -> bytes:
        """What other kinds of packages say of themselves; empty for a workbook."""
        if MIMETYPE not in parts:
            return b""
        try:
            with self.archive.open(MIMETYPE) as stream:
                return stream.read(MIMETYPE_READ)
        except ZIP_ERRORS:
            return b""

    def name_the_sheets(self, parts: list[str], workbook: str) -> None:
        """Links first, so that faults inside a sheet can say its name."""
        targets: dict[str, str] = {}
        for part in parts:
            if part.endswith(".rels"):
                links = LinksScan(part, self.limits)
                self.scan(links)
                if links.owner == workbook:
                    targets = links.targets
        listed = SheetListScan(workbook, self.limits)
        self.scan(listed)
        self.names = {targets.get(link, ""): name for link, name in listed.links.items()}

    def scan_sheet(self, part: str) -> None:
        """A sheet, or any other part of XML: only its first element tells."""
        sheet = SheetScan(part, self.names.get(part, short(part)), self.limits, self.cells)
        self.scan(sheet)
        if sheet.is_sheet:
            self.sheets[part] = sheet.facts
            self.cells += sheet.facts.cells

    def scan(self, scan: PartScan) -> None:
        try:
            stream = self.archive.open(scan.part)
        except (KeyError, *ZIP_ERRORS) as error:
            raise Refused(Code.DAMAGED, detail=f"part {quoted(short(scan.part))}") from error
        scan.characters = self.characters
        with stream:
            run(stream, scan, self.count)
        self.characters = scan.characters

    def count_bytes_of(self, part: str) -> None:
        """Pictures and the like: unpacked to count them, and for their check sum."""
        try:
            with self.archive.open(part) as stream:
                while piece := stream.read(PIECE):
                    self.count(len(piece))
        except ZIP_ERRORS as error:
            raise Refused(Code.DAMAGED, detail=f"part {quoted(short(part))}") from error

    def count(self, unpacked: int) -> None:
        self.unpacked += unpacked
        if self.unpacked > self.limits.unpacked:
            raise Refused(Code.UNPACKS_TOO_BIG, most=self.limits.unpacked // MB)


def inspect(data: bytes, limits: Limits = LIMITS) -> Facts:
    """Raise Refused for a file that is no sound, harmless workbook within the limits."""
    check_kind(data, limits)
    with open_archive(data, limits) as archive:
        return Inspection(archive, limits).facts()
