"""What the forms of loans say; ValueError with words for a person where they say nothing usable."""

from __future__ import annotations

from datetime import date, datetime, time

from django.http import QueryDict

from deploy.kit.models import Person
from implants.access import implants_for
from scheduling.loans.delivery_note import read_delivery_note
from scheduling.operations.loans.asking import MOST_TRAYS, Lent
from trays.models import Configuration, Tray


def lent_in(post: QueryDict, person: Person) -> Lent:
    """Trays by configuration (`trays <key>`: how many), trays of the lender (`known`), and boxes
    as text (`boxes`)."""
    configurations: list[Configuration] = []
    for each in Configuration.objects.filter(site=person.site):
        typed = post.get(f"trays {each.pk}", "").strip()
        if typed:
            if not typed.isdecimal() or not 0 <= int(typed) <= MOST_TRAYS:
                raise ValueError(f"{each}: a number of trays, at most {MOST_TRAYS}.")
            configurations += [each] * int(typed)
    keys = [key for key in post.getlist("known") if key.isdecimal()]
    known = Tray.objects.filter(site=person.site, pk__in=keys)
    implants = {each.ref: each for each in implants_for(person)} if post.get("boxes") else {}
    boxes = read_delivery_note(post.get("boxes", ""), implants)
    return Lent(
        configurations, list(known), {implants[ref]: number for ref, number in boxes.items()}
    )


def day_in(post: QueryDict, name: str) -> date | None:
    """None where nothing was typed."""
    text = post.get(name, "").strip()
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise ValueError(f"“{text[:20]}” is not a date.") from None


def moment_in(post: QueryDict, person: Person) -> datetime:
    """`day` and `time`, as the site's clocks show it."""
    day = day_in(post, "day")
    text = post.get("time", "").strip()
    if day is None:
        raise ValueError("Say the day on which it comes.")
    try:
        at = time.fromisoformat(text)
    except ValueError:
        raise ValueError(f"“{text[:20]}” is not a time of day.") from None
    return datetime.combine(day, at.replace(tzinfo=None), tzinfo=person.site.zone)
