"""Scan a box or a tray against a printed list, and keep what was read and answered."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.models import Person
from scheduling.models import PickListVersion, Scan
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
    """Judge what was read against the list and keep the answer.

    Every scan is answered and kept, a refused one too.  The version's row is locked, so that two
    scanners at one list are judged one after the other; should a line be ticked twice even so, the
    database refuses and the second is ALREADY SCANNED.
    At most 16 statements, two savepoints among them.
    """
    version = (
        PickListVersion.objects.select_for_update(of=("self",))
        .select_related("pick_list__site")
        .get(pk=version.pk)
    )
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
    try:
        with transaction.atomic():
            return _create(version, text, answer, answer.word, cautions, by, now)
    except IntegrityError:
        return _create(version, text, answer, Word.ALREADY_SCANNED, cautions, by, now)


def _create(
    version: PickListVersion,
    text: str,
    answer: Answer,
    word: Word,
    cautions: tuple[str, ...],
    by: Person,
    now: datetime,
) -> Scan:
    code = answer.code if word is answer.word else "already scanned"
    return Scan.objects.create(
        version=version,
        line_id=answer.line,
        read=_kept_text(text)[:LONGEST_KEPT],
        answer=word.value,
        reason={
            "code": code,
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
