"""What stands on each print, from what is recorded."""

from __future__ import annotations

from typing import Any

from deploy.kit.models import Site
from scheduling.pick_lists.links import tray_link
from scheduling.pick_lists.words import day_and_clock
from scheduling.sterile.prints.label import Label
from scheduling.sterile.prints.sheet import Part, Sheet
from scheduling.sterile.trace import Traced
from trays.models import Count, Instrument, Load, Pack, Tray, settings_of
from trays.operations.counts import sheet_in_force
from trays.operations.loads import trays_in
from trays.weight import weight_warning


def name_of(user: Any) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def label_of(pack: Pack) -> Label:
    """Four queries."""
    tray, site = pack.tray, pack.tray.site
    instruments = Instrument.objects.filter(site=site, ref__in=pack.shortages).in_bulk(
        field_name="pk"
    )
    words = {one.ref: one.in_words() for one in instruments.values()}
    return Label(
        tray=tray.code,
        configuration=str(tray.configuration),
        pack=pack.number,
        link=tray_link(site.address, tray=tray.code, asset=tray.asset),
        asset=tray.asset,
        packed_at=site.local(pack.packed_at),
        packed_by=name_of(pack.packed_by),
        sheet=tray.version.number,
        shortages=tuple(
            f"{number} × {words.get(ref, ref)} ({ref})" for ref, number in pack.shortages.items()
        ),
        weight=f"{pack.weight_grams / 1000:.2f} kg" if pack.weight_grams else "",
        warning=weight_warning(pack.weight_grams, settings_of(site).weight_limit_grams),
        indicator=pack.indicator,
    )


def count_sheet_of(tray: Tray, count: Count | None) -> Sheet:
    """The sheet in force to be ticked by hand, or what was said of the count.  Four queries."""
    site = tray.site
    version = count.version if count else sheet_in_force(tray.configuration)
    said = {line.instrument_id: line for line in count.lines.all()} if count else {}
    rows = []
    for number, content in enumerate(version.contents.select_related("instrument"), start=1):
        line = said.get(content.instrument_id)
        here = "" if line is None or line.present is None else str(line.present)
        note = ""
        if line is not None:
            note = f"{line.broken} broken" if line.broken else ""
            note = f"from {line.replaced_by}" if line.replaced_by else note
            note = f"{line.refilled} filled up {note}" if line.refilled else note
        instrument = content.instrument
        what = f"{number}. {instrument.in_words()}"
        rows.append((what, instrument.ref, str(content.quantity), here, note))
    columns = (("Instrument", 0.44), ("REF", 0.22), ("Sheet", 0.08), ("Here", 0.08), ("", 0.18))
    closed = site.local(count.closed_at) if count and count.closed_at else None
    under = [f"{tray.configuration}, count sheet version {version.number}"]
    if count is not None and closed is not None:
        people = " and ".join(filter(None, [name_of(count.closed_by), name_of(count.second)]))
        under.append(f"Closed {day_and_clock(closed)} by {people}")
    two = settings_of(site).two_initials
    return Sheet(
        title=f"Count sheet {tray.code}",
        site=site.name,
        as_of=site.local(site.now()),
        under=tuple(under),
        link=tray_link(site.address, tray=tray.code, asset=tray.asset),
        parts=(
            Part(
                "Lines in tray order",
                columns,
                tuple(rows),
                ticks=("before", "after"),
                beside="tick before packing, and after the operation",
                none="This sheet has no line.",
            ),
        ),
        signatures=("Counted by", "Second person") if two else ("Counted by",),
        clock_is_real=site.clock_is_real,
    )


def load_list_of(load: Load, site: Site) -> Sheet:
    """Two queries."""
    rows = tuple((tray.code, str(tray.configuration), tray.stage) for tray in trays_in(load))
    under = [f"{load.machine.kind} {load.machine.code}, {load.state}"]
    if load.started_at:
        under.append(f"Started {day_and_clock(site.local(load.started_at))}")
    if load.biological != "not asked for":
        under.append(f"Biological indicator: {load.biological}")
    return Sheet(
        title=f"Load {load}",
        site=site.name,
        as_of=site.local(site.now()),
        under=tuple(under),
        link=f"{site.address.rstrip('/').upper()}/loads/{load.pk}/",
        parts=(
            Part(
                "Inside",
                (("Tray", 0.3), ("Kind", 0.45), ("Stage", 0.25)),
                rows,
                ticks=("out",),
                beside=counted(len(rows), "tray"),
            ),
            Part(
                "On record", (("What", 0.25), ("", 0.75)), _on_record(load, site), none="Nothing."
            ),
        ),
        signatures=("Released by",) if load.state == "awaiting release" else (),
        clock_is_real=site.clock_is_real,
    )


def _on_record(load: Load, site: Site) -> tuple[tuple[str, str], ...]:
    """What was measured, who closed, released or withdrew it, and what was said: none left out."""
    rows = []
    if load.lowest_celsius is not None:
        rows.append(
            (
                "Holding phase",
                f"{load.lowest_celsius} to {load.highest_celsius} °C, {load.held_minutes} min",
            )
        )
    rows += [("Deviation", one) for one in load.deviations]
    for what, at, by in (
        ("Closed", load.closed_at, load.closed_by),
        ("Released", load.released_at, load.released_by),
        ("Withdrawn", load.withdrawn_at, load.withdrawn_by),
    ):
        if at is not None:
            rows.append((what, f"{day_and_clock(site.local(at))}, {name_of(by)}"))
    return (*rows, ("Said", load.said)) if load.said else tuple(rows)


def retrieval_list_of(load: Load, packs: list[Traced], site: Site) -> Sheet:
    """No query: `packs` is the load's trace."""
    fetch = tuple(
        (pack.tray, pack.location or f"where what is {pack.stage} is", pack.stage, _cases(pack))
        for pack in packs
        if pack.to_retrieve
    )
    opened = tuple((pack.tray, pack.stage, _cases(pack)) for pack in packs if pack.opened)
    return Sheet(
        title=f"Retrieve load {load}",
        site=site.name,
        as_of=site.local(site.now()),
        under=(f"The load is {load.state}: {load.said}" if load.said else f"It is {load.state}",),
        link=f"{site.address.rstrip('/').upper()}/loads/{load.pk}/trace/",
        parts=(
            Part(
                "To fetch",
                (("Tray", 0.22), ("Where", 0.38), ("Stage", 0.2), ("For", 0.2)),
                fetch,
                ticks=("found",),
                beside=f"{counted(len(fetch), 'pack')}, to quarantine",
                none="Nothing is left to fetch.",
            ),
            Part(
                "Opened: an incident each",
                (("Tray", 0.3), ("Stage", 0.3), ("Cases", 0.4)),
                opened,
                none="No pack of this load was opened.",
            ),
        ),
        signatures=("Retrieved by",),
        clock_is_real=site.clock_is_real,
    )


def _cases(pack: Traced) -> str:
    return ", ".join(f"{use.case} ({day_and_clock(use.at)})" for use in pack.uses)
