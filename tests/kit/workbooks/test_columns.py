"""A declaration that makes no sense fails where it is written."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec

NONSENSE: dict[str, Callable[[], object]] = {
    "no name": lambda: Column(""),
    "odd spaces": lambda: Column("Use  by"),
    "the column of reasons": lambda: Column("reason refused"),
    "a choice without choices": lambda: Column("Side", Kind.CHOICE),
    "choices without a choice": lambda: Column("Side", choices=("left",)),
    "choices that differ in case alone": lambda: Column("Side", Kind.CHOICE, choices=("a", "A")),
    "a choice too long": lambda: Column("Side", Kind.CHOICE, choices=("a" * 201,)),
    "a key by formula": lambda: Column("REF", key=True, formulas=True),
    "two columns of one name": lambda: SheetSpec("Shelf", (Column("REF"), Column("ref"))),
    "our own sheet": lambda: SheetSpec("Lists", (Column("REF"),)),
    "a sheet's name too long": lambda: SheetSpec("x" * 32, (Column("REF"),)),
    "once by a stranger": lambda: SheetSpec("Shelf", (Column("REF"),), once=("LOT",)),
}


@pytest.mark.parametrize("name", NONSENSE)
def test_nonsense_is_refused(name: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  the cases differ in their words alone
        NONSENSE[name]()


def test_a_sensible_one_is_taken() -> None:
    side = Column("Side", Kind.CHOICE, choices=("left", "right"), required=True)
    assert SheetSpec("Shelf", (Column("REF", key=True), side)).names == ("REF", "Side")
