"""Texts in XML: plain (`t`) or in formatted runs (`r`, each with its `t`), never both.

The reader behind us drops what breaks these rules in silence, so they are checked first.
"""

from __future__ import annotations

from deploy.kit.workbooks.xml_part import main

T, R, PHONETIC, PHONETIC_STYLE = main("t"), main("r"), main("rPh"), main("phoneticPr")


class TextRules:
    """Watches one text at a time; `broken` says that it can't be read as it stands."""

    def __init__(self) -> None:
        self.begin(0)

    def begin(self, depth: int) -> None:
        """A text's own element (`si` or `is`) starts at `depth`."""
        self.depth = depth
        self.texts = self.runs = self.length = 0
        self.in_t = self.in_run = self.broken = False
        self.run_has_t = False

    def start(self, tag: str, depth: int) -> None:
        below = depth - self.depth
        if self.in_t:
            self.broken = True
        elif below == 1:
            self.texts += tag == T
            self.runs += tag == R
            self.in_run, self.run_has_t = tag == R, False
            self.broken |= tag not in (T, R, PHONETIC, PHONETIC_STYLE)
            self.broken |= self.texts > 1 or bool(self.texts and self.runs)
            self.in_t = tag == T
        elif below == 2 and self.in_run and tag == T:
            self.broken |= self.run_has_t
            self.in_t = self.run_has_t = True

    def end(self, tag: str) -> None:
        if tag == T:
            self.in_t = False

    def text(self, text: str) -> None:
        if self.in_t:
            self.length += len(text)
