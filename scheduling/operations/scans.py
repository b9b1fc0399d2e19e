"""Scan a box or a tray against a printed list, take what matches, and keep what was answered."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.errors import Refused
from deploy.kit.models import Person
from scheduling.models import PickLine, PickListVersion, Scan
from scheduling.operations.picks import fetch_box, fetch_tray
from scheduling.pick_lists.asking import asked_by
from scheduling.pick_lists.match import match
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import Answer, Word

LONGEST_KEPT = 400


@transaction.atomic
def scan(
    *,
    version: PickListVersion,
    text: str,
    by: Person,
    now: datetime,
) -> Scan:
    """Judge what was read against the list, take what matches, and keep the answer.

    MATCHES LIST ticks the line, and with it the box is picked for the line's case or the tray
    issued to it: both or neither.  What cannot be taken is STOP (not taken), with the reason.
    Every scan is answered and kept, a refused one too.  The version's row is locked, so that two
    scanners at one list are judged one after the other; should a line be ticked twice even so, the
    database refuses and the second is ALREADY SCANNED.
    At most 32 statements, ten of them savepoints.
    """
    PickListVersion.objects.select_for_update().only("pk").get(pk=version.pk)
    site = version.pick_list.site
    moment = site.local(now)
    what, cautions = read(text, site=site, today=moment.date())
    answer = match(what, asked_by(version, what), now=moment)
    return _kept(version, text, answer, cautions, by, now)


def _kept(
    version: PickListVersion,
    text: str,
    answer: Answer,
    cautions: tuple[str, ...],
    by: Person,
    now: datetime,
) -> Scan:
    if answer.word is Word.STOP:
        return _create(version, text, answer, cautions, by, now)
    try:
        with transaction.atomic():
            moved = answer.line is not None and _take(answer.line, by, now)
            if moved and answer.word is Word.ALREADY_SCANNED:
                answer = replace(answer, code="taken again")
            return _create(version, text, answer, cautions, by, now)
    except Refused as refusal:
        stop = replace(
            answer,
            word=Word.STOP,
            code="not taken",
            asked="what may be taken for the case",
            read=refusal.say(),
        )
        return _create(version, text, stop, cautions, by, now)
    except IntegrityError:
        again = replace(answer, word=Word.ALREADY_SCANNED, code="already scanned")
        return _create(version, text, again, cautions, by, now)


def _take(line_id: int, by: Person, now: datetime) -> bool:
    """Whether it has moved: what was ticked and put back is taken again."""
    line = PickLine.objects.select_related("case", "unit", "tray").get(pk=line_id)
    if line.unit is not None:
        box = fetch_box(case=line.case, unit=line.unit, by=by, now=now)
        return box.seq != line.unit.seq
    assert line.tray is not None
    tray = fetch_tray(case=line.case, tray=line.tray, by=by, now=now)
    return tray.seq != line.tray.seq


def _create(
    version: PickListVersion,
    text: str,
    answer: Answer,
    cautions: tuple[str, ...],
    by: Person,
    now: datetime,
) -> Scan:
    return Scan.objects.create(
        version=version,
        line_id=answer.line,
        read=_kept_text(text)[:LONGEST_KEPT],
        answer=answer.word.value,
        reason={
            "code": answer.code,
            "asked": _kept_text(answer.asked),
            "read": _kept_text(answer.read),
            "note": _kept_text(answer.note),
            "cautions": [_kept_text(caution) for caution in cautions],
        },
        at=now,
        by=by.user,
    )


def _kept_text(text: str) -> str:
    """Without the character that PostgreSQL cannot keep."""
    return text.replace("\0", "")
