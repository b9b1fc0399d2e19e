"""The table of texts that cells share."""

from __future__ import annotations

from deploy.kit.workbooks.faults import Refused, quoted
from deploy.kit.workbooks.limits import Limits
from deploy.kit.workbooks.text_rules import T, TextRules
from deploy.kit.workbooks.words import Code
from deploy.kit.workbooks.xml_part import PartScan, main

ESCAPED_UNDERSCORE = "x005F_"
"""The reader behind us drops these characters from every text."""
ITEM = main("si")


class SharedTextsScan(PartScan):
    """Counts the texts, at most `most`, and refuses what a cell could not hold."""

    def __init__(self, part: str, limits: Limits, most: int) -> None:
        super().__init__(part, limits)
        self.most = most
        self.count_of_texts = 0
        self.rules = TextRules()
        self.tail = ""

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.depth == 2 and tag == ITEM:
            self.count_of_texts += 1
            if self.count_of_texts > self.most:
                raise Refused(Code.TOO_MANY_TEXTS)
            self.rules.begin(self.depth)
            return
        if self.depth > self.limits.depth:
            self.too_complicated(self.limits.depth, "levels")
        if tag == ITEM:
            raise Refused(Code.DAMAGED, detail="a text inside another")
        if self.depth > 2:
            self.rules.start(tag, self.depth)
        if tag != T:
            self.count()

    def end(self, tag: str) -> None:
        if self.depth == 2:
            self.check()
        self.rules.end(tag)
        self.depth -= 1

    def text(self, text: str) -> None:
        self.rules.text(text)
        self.tail = (self.tail + text)[-len(text) - len(ESCAPED_UNDERSCORE) :]
        if ESCAPED_UNDERSCORE in self.tail:
            raise Refused(Code.ESCAPED_TEXT, value=quoted(self.tail))

    def check(self) -> None:
        if self.rules.broken:
            raise Refused(Code.DAMAGED, detail="a text is not stored as a text should be")
        self.check_text(self.rules.length)
