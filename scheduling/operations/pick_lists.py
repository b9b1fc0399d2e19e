"""Print a pick list, and print it with a promise of everything that it names."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Unit
from scheduling.errors import Refused
from scheduling.models import Case, PickLine, PickList, PickListVersion, Theatre
from scheduling.operations.locks import OPEN_STATUSES, locked_open_case
from scheduling.operations.reservations import reserve_tray, reserve_unit
from scheduling.pick_lists import words
from scheduling.pick_lists.content import content_of
from scheduling.pick_lists.links import ALPHABET
from scheduling.pick_lists.record import to_record
from scheduling.pick_lists.values import Content, Kind
from scheduling.queries import coverage_now
from trays.models import Tray

CODE_LENGTH = 6
"""Characters: with the alphabet's 32, a thousand million codes a site."""


@transaction.atomic
def print_pick_list(
    *,
    by: Person | None,
    now: datetime,
    case: Case | None = None,
    theatre: Theatre | None = None,
    day: date | None = None,
) -> PickListVersion:
    """The list of a case, or of a theatre's (local) day, as the cover check sees it now.

    A content that differs from the newest version's becomes the next version, kept with its
    lines as printed; the same content again is the same version.  `by` None: a command of the
    house.  Refused (case_is_over, day_without_cases); TypeError unless it is one case or one day.
    """
    subject = subject_of(case=case, theatre=theatre, day=day)
    _lock(subject)
    return _recorded(subject, subject.content(), by, now)


@transaction.atomic
def print_and_reserve(
    *,
    by: Person,
    now: datetime,
    case: Case | None = None,
    theatre: Theatre | None = None,
    day: date | None = None,
) -> PickListVersion:
    """Print as `print_pick_list`, and promise every box and tray on the list to its case.

    All or nothing: the first box or tray that another case has refuses the whole (unit_promised,
    tray_promised, each naming that case; unit_on_hold, ... as the reservations do).  What is
    printed is the list after the promises, since they have a say in which box serves which need.
    """
    subject = subject_of(case=case, theatre=theatre, day=day)
    _lock(subject)
    _reserve(subject, subject.content(), by, now)
    version = _recorded(subject, subject.content(), by, now)
    if not version.reserved:
        version.reserved = True
        version.save(update_fields=["reserved"])
    return version


# -- what the list is about ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Subject:
    """One case, or a theatre's day; `cases` are open, in time order."""

    site: Site
    cases: tuple[Case, ...]
    theatre: Theatre | None = None
    day: date | None = None

    @property
    def title(self) -> str:
        if self.theatre is None or self.day is None:
            return f"Case {self.cases[0].ref}"
        return f"{words.theatre(self.theatre.code)}, {words.day(self.day)}"

    def content(self) -> Content:
        """What a list printed now would hold.  As many queries as `coverage_now` and one."""
        coverage = coverage_now(self.site)
        return content_of(
            coverage.scenario,
            coverage.report,
            [case.ref for case in self.cases],
            address=self.site.address,
            assets=dict(Tray.objects.filter(site=self.site).values_list("code", "asset")),
            title=self.title,
            is_day=self.day is not None,
        )

    def pick_list(self) -> PickList:
        """Its list, locked, made where there is none yet."""
        which = {"theatre": self.theatre, "day": self.day} if self.day else {"case": self.cases[0]}
        pick_list, _ = PickList.objects.select_for_update(of=("self",)).get_or_create(
            **which, defaults={"site": self.site, "code": _free_code(self.site)}
        )
        return pick_list


def subject_of(
    *, case: Case | None = None, theatre: Theatre | None = None, day: date | None = None
) -> Subject:
    """What a list of the case, or of the theatre's day, is about.

    Refused: case_is_over; day_without_cases (none booked or under way there that day).
    """
    if case is not None and theatre is None and day is None:
        if case.status not in OPEN_STATUSES:
            raise Refused("case_is_over", case=case.ref, status=case.status)
        return Subject(case.site, (case,))
    if case is not None or theatre is None or day is None:
        raise TypeError("a pick list is of one case, or of one theatre and day")
    site = theatre.site
    opens = datetime.combine(day, time.min, tzinfo=site.zone).astimezone(UTC)
    closes = datetime.combine(day + timedelta(days=1), time.min, tzinfo=site.zone).astimezone(UTC)
    cases = Case.objects.filter(
        theatre=theatre, start__gte=opens, start__lt=closes, status__in=OPEN_STATUSES
    ).order_by("start", "ref")
    if not cases:
        raise Refused("day_without_cases", theatre=words.theatre(theatre.code), day=day)
    return Subject(site, tuple(cases), theatre, day)


def _lock(subject: Subject) -> None:
    """Hold the cases as they are until the list is kept."""
    for case in sorted(subject.cases, key=lambda case: case.pk):
        locked_open_case(case)


def _free_code(site: Site) -> str:
    taken = set(PickList.objects.filter(site=site).values_list("code", flat=True))
    while True:
        code = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        if code not in taken:
            return code


# -- keeping it ---------------------------------------------------------------------------------


def _recorded(
    subject: Subject, content: Content, by: Person | None, now: datetime
) -> PickListVersion:
    pick_list = subject.pick_list()
    record = to_record(content)
    newest = pick_list.versions.order_by("-number").first()
    if newest is not None and newest.content == record:
        return newest
    version = PickListVersion.objects.create(
        pick_list=pick_list,
        number=newest.number + 1 if newest else 1,
        printed_at=now,
        printed_by=by.user if by else None,
        content=record,
    )
    units, trays = _rows(subject, content)
    cases = {case.ref: case for case in subject.cases}
    PickLine.objects.bulk_create(
        PickLine(
            version=version,
            position=position,
            case=cases[section.case],
            unit=units[line.code] if line.kind is Kind.BOX else None,
            tray=trays[line.code] if line.kind is Kind.TRAY else None,
            need=line.need.value,
            words=f"{words.capital(line.role)}, {words.big_words(line)}"[:200],
            location=line.location,
        )
        for position, (section, line) in enumerate(content.lines(), start=1)
    )
    return version


def _rows(subject: Subject, content: Content) -> tuple[dict[str, Unit], dict[str, Tray]]:
    """The boxes and trays that the list names, by code.  Two queries."""
    codes = [line.code for _, line in content.lines()]
    units = Unit.objects.filter(site=subject.site, code__in=codes)
    trays = Tray.objects.filter(site=subject.site, code__in=codes)
    return {unit.code: unit for unit in units}, {tray.code: tray for tray in trays}


def _reserve(subject: Subject, content: Content, by: Person, now: datetime) -> None:
    """Promise what the list names, locking in the house's order: trays, then boxes, each in the
    order of their ids."""
    cases = {case.ref: case for case in subject.cases}
    units, trays = _rows(subject, content)
    lines = list(content.lines())
    of_trays = [(trays[line.code], section) for section, line in lines if line.kind is Kind.TRAY]
    of_boxes = [(units[line.code], section) for section, line in lines if line.kind is Kind.BOX]
    for tray, section in sorted(of_trays, key=lambda each: each[0].pk):
        reserve_tray(case=cases[section.case], tray=tray, by=by, now=now)
    for unit, section in sorted(of_boxes, key=lambda each: each[0].pk):
        reserve_unit(case=cases[section.case], unit=unit, by=by, now=now)
