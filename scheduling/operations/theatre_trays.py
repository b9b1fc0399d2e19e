"""Use a tray although its check said STOP.  One transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.errors import Refused as AnyRefused
from deploy.kit.models import Person
from scheduling.errors import Refused
from scheduling.models import Case, LabelCheck, TrayTaken
from scheduling.operations.locks import locked_open_case, locked_tray
from scheduling.operations.theatre_checks import signatures_given
from scheduling.theatre.judging import judged
from scheduling.theatre.overriding import Takes, takes
from trays.models import Tray
from trays.operations.moves import move_tray
from trays.stages import Stage


@transaction.atomic
def take_tray(
    *,
    check: LabelCheck,
    by: Person,
    now: datetime,
    reason: str = "",
    second: Person | None = None,
) -> TrayTaken:
    """The tray whose tag was checked is used for the check's case, past its STOP.

    Judged again, as things stand now.  A tray of the sterile store, or issued elsewhere, comes into
    theatre, so that it is nobody's sterile tray any more; one that the ledger does not let come is
    recorded where it stands.  Taken before for the same case: harmless.

    Refused: case_is_over, tray_not_named, opening_not_possible, opening_takes_reason,
    opening_takes_two.
    """
    case = locked_open_case(check.case)
    if check.tray is None:
        raise Refused("tray_not_named")
    tray = locked_tray(check.tray)
    before = TrayTaken.objects.filter(case=case, tray=tray).first()
    if before is not None:
        return before
    answer = judged(case, check.read, now=now).answer
    needed = takes(answer.word, answer.code, is_known=True)
    if needed is Takes.NEVER:
        raise Refused("opening_not_possible", read=answer.read)
    # That it would match by now changes nothing: it was stopped, and a person went past it.
    needed = Takes.REASON if needed is Takes.NOTHING else needed
    signatures_given(needed, reason, by, second)
    _in_theatre_if_it_may(case, tray, reason, by, now)
    return TrayTaken.objects.create(
        case=case,
        tray=tray,
        check_made=check,
        override=reason.strip()[:120],
        at=now,
        by=by.user,
        second=second.user if second and needed is Takes.TWO_PEOPLE else None,
    )


def _in_theatre_if_it_may(case: Case, tray: Tray, reason: str, by: Person, now: datetime) -> None:
    if tray.stage not in (Stage.STERILE_STORE, Stage.ISSUED):
        return
    try:
        with transaction.atomic():
            for stage in (Stage.ISSUED, Stage.IN_THEATRE):
                tray = move_tray(
                    tray=tray,
                    stage=stage,
                    by=by,
                    now=now,
                    ready_at=tray.ready_at,
                    sterile_until=tray.sterile_until,
                    reason=reason.strip()[:120],
                    case_ref=case.ref,
                )
    except AnyRefused:
        return
