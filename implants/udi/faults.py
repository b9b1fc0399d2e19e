"""Why a scan is refused, and what is odd about one that is read.  Data only; see `wording`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Fault(StrEnum):
    """Reasons to refuse.  The values that go with each are named beside it."""

    NOTHING = "nothing scanned"
    NOT_A_CODE = "not a code we read"  # text
    NOT_READ_YET = "not read yet"  # standard
    KEYBOARD = "keyboard language"  # character
    TWO_READINGS = "two readings"  # text
    BRACKETS = "brackets do not fit"  # text, the part that does not fit
    UNKNOWN_AI = "unknown application identifier"  # text, from where it should start
    EMPTY = "empty value"  # ai
    BAD_CHARACTER = "character not allowed"  # ai, value, character
    FORM = "not of its form"  # ai, value, form
    CHECK_DIGIT = "check digit"  # ai, value, expected
    CHECK_CHARACTER = "check character"  # ai, value, expected
    DATE = "no such date"  # ai, value
    STATED_TWICE = "stated twice"  # ai, value, other
    NEEDS_ITEM = "needs an item number"  # ai, value
    NEEDS_PRIMARY = "needs the primary code"  # ai, value
    OTHER_LABEL = "not of one label"  # none
    EXCLUDED = "do not go together"  # ai, other
    LINK_ORDER = "qualifiers out of order"  # ai, order
    LINK_PATH = "path does not pair"  # text
    LINK_ESCAPE = "broken percent-encoding"  # text
    LINK_DOTS = "dots alone"  # ai, value
    LINK_ADDRESS = "not a web address"  # text


class Caution(StrEnum):
    """What a person should look at although the code was read."""

    DAY_NOT_STATED = "day not stated"  # ai, date
    LOST_SEPARATOR = "separator may be lost"  # ai, value, hidden
    CAPS_LOCK = "caps lock"  # none
    LOWER_CASE = "lower case"  # value
    UNKNOWN_AI = "unknown application identifier"  # ai, value


class ScanError(ValueError):
    """A scan that is refused.  `code` and `values` say why; `wording.say` says it in words."""

    def __init__(self, code: Fault, **values: str) -> None:
        super().__init__(code, values)
        self.code = code
        self.values: Mapping[str, str] = values

    def __str__(self) -> str:
        said = ", ".join(f"{key}={value!r}" for key, value in self.values.items())
        return f"{self.code}: {said}" if said else str(self.code)


@dataclass(frozen=True, slots=True)
class ScanWarning:
    """A caution about a scan that was read."""

    code: Caution
    values: Mapping[str, str] = field(default_factory=dict)
