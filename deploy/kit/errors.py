"""Expected refusals: a code and its values.  Crashes never share this class."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import ClassVar

RefusalValue = str | int | date | datetime | list[str]
"""Moments are local to the site."""


class Refused(Exception):
    """What was asked cannot be done as things stand (409).  Nothing was changed.

    Each app has its own subclass with the sentences of its codes; KeyError for a code without.
    """

    status = 409
    sentences: ClassVar[Mapping[str, str]] = {}

    def __init__(self, code: str, **values: RefusalValue) -> None:
        self.sentence = self.sentences[code]
        self.code = code
        self.values = values
        super().__init__(code)

    def say(self) -> str:
        """One sentence for people, with every value in it."""
        return self.sentence.format(**{k: self.said(k, v) for k, v in self.values.items()})

    def said(self, name: str, value: RefusalValue) -> str:
        """One value as the sentence has it."""
        return _said(value)

    def __str__(self) -> str:
        return self.say()


class MoveRefused(Refused):
    """A movement that the ledger does not take."""

    sentences = {
        "seq_stale": "{item} was changed by someone else meanwhile. Look at it again first.",
        "move_not_allowed": "{item} is {state}: “{kind}” is not possible.",
        "second_person_missing": "“{kind}” takes two different people.",
        "reason_missing": "“{kind}” takes a reason.",
        "item_elsewhere": "{item} belongs to another site.",
    }


def _said(value: RefusalValue) -> str:
    if isinstance(value, list):
        return "; ".join(value)
    if isinstance(value, datetime):
        return f"{value:%a %d %b %H:%M}"
    if isinstance(value, date):
        return f"{value:%d %b %Y}"
    return str(value)
