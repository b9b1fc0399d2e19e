"""Expected refusals: a code and its values.  Crashes never share this class."""

from __future__ import annotations

from deploy.kit.errors import Refused as AnyRefused
from scheduling.error_words import SENTENCES


class Refused(AnyRefused):
    """What was asked cannot be done as things stand (409).  Nothing was changed.

    `code` names the refusal in `scheduling.error_words`.
    """

    sentences = SENTENCES


class NotUsable(Refused):
    """What was given breaks its own rules (400).  `faults` in the values lists all of them."""

    status = 400

    def __init__(self, code: str, faults: list[str]) -> None:
        super().__init__(code, faults=faults)
