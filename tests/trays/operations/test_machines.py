from __future__ import annotations

from typing import Any

import pytest

from deploy.kit.models import Person
from tests.factories import NOW
from trays.errors import TrayRefused
from trays.models import Machine
from trays.operations.loads import open_load
from trays.operations.machines import put_back_into_use, put_out_of_use


def test_out_of_use_nothing_is_opened_in_it_and_back_it_is(
    steriliser: Machine, who: dict[str, Any]
) -> None:
    put_out_of_use(machine=steriliser, reason=" test cycle failed ", **who)
    with pytest.raises(TrayRefused, match="S1 is out of use: test cycle failed"):
        open_load(machine=steriliser, **who)
    with pytest.raises(TrayRefused, match="S1 is out of use"):
        put_out_of_use(machine=steriliser, reason="again", **who)
    put_back_into_use(machine=steriliser, **who)
    assert open_load(machine=steriliser, **who).number == 1
    with pytest.raises(TrayRefused, match="S1 is in use already"):
        put_back_into_use(machine=steriliser, **who)


def test_wants_a_reason_and_refuses_the_stranger(
    steriliser: Machine, who: dict[str, Any], stranger: Person
) -> None:
    with pytest.raises(TrayRefused, match="Say why S1 is out of use"):
        put_out_of_use(machine=steriliser, reason=" ", **who)
    with pytest.raises(TrayRefused, match="belongs to another site"):
        put_out_of_use(machine=steriliser, reason="leaks", by=stranger, now=NOW)
