"""Which case stands where on the day's lists, and what a press of a button does to that.  Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from scheduling.models import Case, Theatre

Orders = dict[int, list[str]]
"""Key of the theatre (0: none yet) → references in order."""


def orders_of(cases: Collection[Case]) -> Orders:
    """As booked: theatres by code, cases in time order, those without a theatre last."""
    found: Orders = {}
    in_order = sorted(cases, key=lambda case: (case.start, case.ref))
    keyed = {
        (case.theatre is None, str(case.theatre or ""), case.theatre_id or 0) for case in in_order
    }
    for _, _, key in sorted(keyed):
        found[key] = [case.ref for case in in_order if (case.theatre_id or 0) == key]
    return found


def read_orders(
    sent: Mapping[str, str], cases: Mapping[str, Case], theatres: Sequence[Theatre]
) -> Orders:
    """The order that a form sent.  A case that it does not name stands where it is booked: it was
    booked meanwhile; what it names and is no more on the day is passed over."""
    booked = orders_of(cases.values())
    known = {theatre.pk for theatre in theatres} | {0}
    found: Orders = {}
    seen: set[str] = set()
    for name, text in sent.items():
        key = name.removeprefix("order-")
        if key == name or not key.isascii() or not key.isdigit() or int(key) not in known:
            continue
        refs = [ref for ref in text.split(",") if ref in cases and ref not in seen]
        seen |= set(refs)
        found[int(key)] = list(dict.fromkeys(refs))
    for booked_key, refs in booked.items():
        found.setdefault(booked_key, []).extend(ref for ref in refs if ref not in seen)
    return found


def after_press(
    orders: Orders, act: str, fixed: Collection[str], theatres: Sequence[Theatre]
) -> Orders:
    """`up:REF`, `down:REF`, `to:KEY:REF`; anything else, and what has begun, moves nothing."""
    verb, _, rest = act.partition(":")
    changed = {key: list(refs) for key, refs in orders.items()}
    if verb == "to":
        target, _, ref = rest.partition(":")
        known = {str(theatre.pk): theatre.pk for theatre in theatres}
        stands_in = _list_with(changed, ref)
        if target in known and ref not in fixed and stands_in is not None:
            stands_in.remove(ref)
            changed.setdefault(known[target], []).append(ref)
        return changed
    refs = _list_with(changed, rest)
    if verb not in ("up", "down") or refs is None or rest in fixed:
        return changed
    place = refs.index(rest)
    other = place + (1 if verb == "down" else -1)
    if 0 <= other < len(refs) and refs[other] not in fixed:
        refs[place], refs[other] = refs[other], refs[place]
    return changed


def _list_with(orders: Orders, ref: str) -> list[str] | None:
    return next((refs for refs in orders.values() if ref in refs), None)
