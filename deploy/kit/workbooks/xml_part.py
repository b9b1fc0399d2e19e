"""One XML part, streamed through the parser piece by piece and never kept.

No document type, so no entities; bounded depth, number of elements and length of a tag.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePosixPath
from typing import IO, NoReturn
from xml.parsers import expat

from deploy.kit.workbooks.archive import ZIP_ERRORS
from deploy.kit.workbooks.faults import Refused, quoted
from deploy.kit.workbooks.limits import MB, Limits
from deploy.kit.workbooks.words import Code

PIECE = 64 * 1024
LONGEST_TAG = MB
"""Bytes in one tag.  An unfinished tag is read again with every piece: the square of its length."""

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/"


def main(name: str) -> str:
    """The parser's name of a workbook's element."""
    return f"{MAIN} {name}"


class PartScan:
    """Counts depth, elements and characters of texts, those of the parts before too.

    Scans of particular parts add their rules to it.
    """

    def __init__(self, part: str, limits: Limits) -> None:
        self.part, self.limits = part, limits
        self.depth = 0
        self.elements = 0
        self.characters = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.depth == 1 and tag.startswith(STRICT):
            raise Refused(Code.STRICT_FORMAT)
        if self.depth > self.limits.depth:
            self.too_complicated(self.limits.depth, "levels")
        self.count()

    def end(self, tag: str) -> None:
        self.depth -= 1

    def text(self, text: str) -> None:
        """Most parts' texts do not matter."""

    def check_text(self, length: int) -> None:
        """One text of `length` characters more."""
        if length > self.limits.text_length:
            raise Refused(Code.TEXT_TOO_LONG, most=f"{self.limits.text_length:,}")
        self.characters += length
        if self.characters > self.limits.characters:
            raise Refused(Code.TOO_MUCH_TEXT, most=f"{self.limits.characters:,}")

    def count(self) -> None:
        self.elements += 1
        if self.elements > self.limits.elements:
            self.too_complicated(self.limits.elements, "elements")

    def too_complicated(self, most: int, thing: str) -> None:
        raise Refused(
            Code.TOO_COMPLICATED, part=quoted(short(self.part)), most=f"{most:,}", thing=thing
        )


def run(stream: IO[bytes], scan: PartScan, counted: Callable[[int], None]) -> None:
    """Send the part through `scan`; `counted` is told of the bytes unpacked.  Raises Refused."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = scan.start
    parser.EndElementHandler = scan.end
    parser.CharacterDataHandler = scan.text

    def refuse(*_: object) -> NoReturn:
        raise Refused(Code.ENTITIES, part=quoted(short(scan.part)))

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    parser.ExternalEntityRefHandler = refuse
    fed = 0
    try:
        while piece := stream.read(PIECE):
            counted(len(piece))
            fed += len(piece)
            parser.Parse(piece, False)
            if fed - parser.CurrentByteIndex > LONGEST_TAG:
                scan.too_complicated(LONGEST_TAG, "characters in a tag")
        parser.Parse(b"", True)
    except (expat.ExpatError, *ZIP_ERRORS) as error:
        raise Refused(Code.DAMAGED, detail=f"part {quoted(short(scan.part))}") from error


def short(part: str) -> str:
    """The part's own name, which is enough for a person."""
    return PurePosixPath(part).name
