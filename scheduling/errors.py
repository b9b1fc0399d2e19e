"""Expected refusals: a code and its values.  Crashes never share this class."""

from __future__ import annotations

from datetime import date, datetime

from scheduling.error_words import SENTENCES

RefusalValue = str | int | date | datetime | list[str]
"""Moments are local to the site."""


class Refused(Exception):
    """What was asked cannot be done as things stand (409).  Nothing was changed.

    `code` names the refusal in `scheduling.error_words`; KeyError for one without a sentence.
    """

    status = 409

    def __init__(self, code: str, **values: RefusalValue) -> None:
        self.sentence = SENTENCES[code]
        self.code = code
        self.values = values
        super().__init__(code)

    def say(self) -> str:
        """One sentence for people, with every value in it."""
        return self.sentence.format(**{k: _said(value) for k, value in self.values.items()})

    def __str__(self) -> str:
        return self.say()


class NotUsable(Refused):
    """What was given breaks its own rules (400).  `faults` in the values lists all of them."""

    status = 400

    def __init__(self, code: str, faults: list[str]) -> None:
        super().__init__(code, faults=faults)


class NotTheSame(Refused):
    """A request key was used again for something else (422)."""

    status = 422


def _said(value: RefusalValue) -> str:
    if isinstance(value, list):
        return "; ".join(value)
    if isinstance(value, datetime):
        return f"{value:%a %d %b %H:%M}"
    if isinstance(value, date):
        return f"{value:%d %b %Y}"
    return str(value)
