"""What a scan is judged by: what was read, what the list asks, what else is known.  Values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from deploy.kit.attributes import Value, in_words
from scheduling.coverage.values import Need


class Word(StrEnum):
    """The fixed answers.  There is no other, and none that says that an implant is right."""

    MATCHES_LIST = "MATCHES LIST"
    STOP = "STOP"
    ALREADY_SCANNED = "ALREADY SCANNED"


@dataclass(frozen=True, slots=True)
class Item:
    """A catalogue implant."""

    ref: str
    role: str
    attributes: Mapping[str, Value] = field(default_factory=dict)
    name: str = ""

    def in_words(self) -> str:
        described = in_words(self.attributes) or self.name
        return ", ".join(part for part in (self.role, described) if part)


# -- what was read ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BoxRead:
    """A box's label.  `item` None: the catalogue does not hold it, `said` is what was read.

    `lot` and `serial` are empty, `expiry` None, where the label did not say.  `code` is the
    house's own code of the box, where that was read instead of a label.
    """

    said: str
    item: Item | None = None
    lot: str = ""
    serial: str = ""
    expiry: date | None = None
    code: str = ""


@dataclass(frozen=True, slots=True)
class TrayRead:
    """A tray's tag.  `code` empty: no tray of the site has this asset."""

    said: str
    code: str = ""
    configuration: str = ""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """`why` is a sentence for people."""

    said: str
    why: str


Read = BoxRead | TrayRead | Unreadable


# -- what the list asks -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BoxState:
    """A box of the site as it stands now.  `promised_to`: the case that it is reserved or picked
    for.  `gone`: its state, where it is no longer here."""

    code: str
    item: Item
    lot: str = ""
    serial: str = ""
    expiry: date | None = None
    hold: str = ""
    gone: str = ""
    awaited: bool = False
    promised_to: str = ""


@dataclass(frozen=True, slots=True)
class TrayState:
    """A tray of the site as it stands now, moments local.

    `hold`: the stage, where it is one of the holds.  `unready`: the stage, where the tray is
    neither in the sterile store nor issued.  `issued_to`: the case that it was issued to.
    `missing`: instrument REF → pieces it lacks.
    """

    code: str
    configuration: str
    hold: str = ""
    unready: str = ""
    issued_to: str = ""
    ready_at: datetime | None = None
    sterile_until: datetime | None = None
    missing: Mapping[str, int] = field(default_factory=dict)
    promised_to: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AskedLine:
    """One line of the list; exactly one of `box` and `tray`.

    `end`: when the case ends, local.  `is_over`: the case has ended or was cancelled.
    `lacking`: of a tray, the instruments that the case counts on and that all its trays together
    no longer hold, so far as this tray lacks them.
    """

    id: int
    case: str
    need: Need
    end: datetime
    ticked: bool = False
    is_over: bool = False
    box: BoxState | None = None
    tray: TrayState | None = None
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """The list as it stands now.  `newest` differs from `number` once it was printed again.

    `boxes` and `trays`: what the site knows of the thing that was read, on the list or not.
    """

    code: str
    number: int
    newest: int
    lines: tuple[AskedLine, ...]
    boxes: tuple[BoxState, ...] = ()
    trays: tuple[TrayState, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """The word, the line that it is about, and why: a code, what the list asks, what was read."""

    word: Word
    code: str
    line: int | None = None
    asked: str = ""
    read: str = ""
    note: str = ""
