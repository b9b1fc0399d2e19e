"""Small makers of rows for tests; each fills in what the test does not care about."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import Group, User

from deploy.kit.credentials import set_pin
from deploy.kit.models import Person, Site
from deploy.roles import STAFF
from implants.models import Implant, Supplier, Unit, UnitMove, UnitMovement
from implants.states import UnitState
from scheduling.models import (
    Case,
    PlanVersion,
    Surgeon,
    Technique,
    TrayReservation,
    UnitReservation,
)
from trays.models import Configuration, ConfigurationVersion, Instrument, Tray, TrayMove
from trays.stages import Stage

NOW = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)
"""The cast's fixed moment, a Monday morning; London is on UTC then."""

PASSWORD = "correct horse battery"
PIN = "4071"


def person(site: Site, username: str, role: str) -> Person:
    user = User.objects.create(
        username=username, is_staff=role in STAFF, first_name=username.title()
    )
    user.groups.add(Group.objects.get(name=role))
    return Person.objects.create(user=user, site=site)


def with_pin(person: Person) -> Person:
    """Who can sign, with PIN."""
    set_pin(person=person, pin=PIN, by=None)
    return person


def implant(site: Site, ref: str = "STEM-12", role: str = "stem", **attributes: Any) -> Implant:
    return Implant.objects.create(site=site, ref=ref, role=role, attributes=attributes)


def supplier(site: Site, code: str = "NORTH", **values: Any) -> Supplier:
    values.setdefault("name", f"Maker {code.title()}")
    return Supplier.objects.create(site=site, code=code, **values)


def unit(
    implant: Implant,
    code: str = "U001",
    *,
    hold: str = "",
    expected_at: datetime | None = None,
    **values: Any,
) -> Unit:
    """A box on the shelf, in date for years, unless the values say otherwise."""
    values.setdefault("expiry", None if values.get("does_not_expire") else date(2031, 12, 31))
    made = Unit.objects.create(site=implant.site, implant=implant, code=code, **values)
    state = UnitState.AWAITED if expected_at else UnitState.ON_THE_SHELF
    return _entered(
        made,
        UnitMove.objects.get(kind="load from a file", to_state="quarantine" if hold else state),
        hold=hold,
        reason=hold,
        expected_at=expected_at,
    )


def held(unit: Unit, reason: str) -> Unit:
    """The box, put on hold by nobody in particular."""
    unit.refresh_from_db()
    UnitMovement.objects.create(
        unit=unit,
        seq=unit.seq + 1,
        move=UnitMove.objects.get(kind="quarantine", from_state=unit.state),
        by=_somebody(unit.site),
        at=NOW,
        day=NOW.date(),
        reason=reason,
        hold=reason,
        expected_at=unit.expected_at,
    )
    unit.refresh_from_db()
    return unit


def _somebody(site: Site) -> User:
    return User.objects.get_or_create(username=f"somebody-{site.code}")[0]


def _entered(item: Any, move: Any, **values: Any) -> Any:
    """The box or tray with its first movement."""
    item.movements.create(seq=1, move=move, at=NOW, day=NOW.date(), **values)
    item.refresh_from_db()
    return item


def instrument(
    site: Site, ref: str = "REAM-12", role: str = "reamer", **attributes: Any
) -> Instrument:
    return Instrument.objects.create(site=site, ref=ref, role=role, attributes=attributes)


def configuration(
    site: Site,
    code: str = "BASE",
    contents: dict[Instrument, int] | None = None,
    kind: str = "base",
) -> ConfigurationVersion:
    """A kind of tray with its first count sheet."""
    kind_of_tray = Configuration.objects.create(
        site=site, code=code, kind=kind, turnaround_minutes=360, fast_track_minutes=270
    )
    version = kind_of_tray.versions.create(number=1, made_at=NOW)
    for position, (item, quantity) in enumerate((contents or {}).items()):
        version.contents.create(instrument=item, quantity=quantity, position=position)
    return version


def tray(
    version: ConfigurationVersion,
    code: str = "BASE/1",
    *,
    stage: Stage = Stage.STERILE_STORE,
    ready_at: datetime | None = None,
    expected_at: datetime | None = None,
    sterile_until: datetime | None = None,
    **values: Any,
) -> Tray:
    """A tray in the sterile store, ready now, unless the values say otherwise."""
    values.setdefault("asset", f"0299999{code.replace('/', '')}")
    made = Tray.objects.create(
        site=version.configuration.site,
        configuration=version.configuration,
        version=version,
        code=code,
        **values,
    )
    return _entered(
        made,
        TrayMove.objects.get(kind="load from a file", to_state=stage),
        ready_at=ready_at or (NOW if stage == Stage.STERILE_STORE else None),
        expected_at=expected_at,
        sterile_until=sterile_until,
    )


def technique(site: Site, code: str = "REVISION-STEM") -> Technique:
    """A technique that asks for nothing yet."""
    return Technique.objects.create(site=site, code=code)


def case(
    site: Site,
    ref: str = "C1",
    *,
    start: datetime = NOW + timedelta(days=1, hours=1, minutes=30),
    surgeon: Surgeon | None = None,
    technique: Technique | None = None,
    components: dict[str, Any] | None = None,
    facts: dict[str, Any] | None = None,
    **values: Any,
) -> Case:
    """A two-hour case on the morrow at 08:30, with a first plan if a technique is given."""
    values.setdefault("minutes", 120)
    values.setdefault("side", "left")
    booked = Case.objects.create(site=site, ref=ref, start=start, surgeon=surgeon, **values)
    if technique is not None:
        PlanVersion.objects.create(
            case=booked,
            number=1,
            technique=technique,
            components=components or {},
            facts=facts or {},
            made_at=NOW,
        )
    return booked


def promised_unit(case: Case, unit: Unit, **values: Any) -> UnitReservation:
    """A reservation as a row, without an operation."""
    used_on = case.site.local(case.end).date()
    return UnitReservation.objects.create(
        **{"case": case, "unit": unit, "at": NOW, "used_on": used_on} | values
    )


def promised_tray(case: Case, tray: Tray, **values: Any) -> TrayReservation:
    """A reservation as a row, from an hour before the case until it is over."""
    hour = timedelta(hours=1)
    period = {"busy_from": case.start - hour, "busy_until": case.end}
    return TrayReservation.objects.create(
        **{"case": case, "tray": tray, "at": NOW} | period | values
    )
