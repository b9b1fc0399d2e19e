"""The handover on paper: what the page says, for a shift that reads it without a screen."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from deploy.kit.models import Site
from deploy.kit.templatetags.muster import day, span
from scheduling.pick_lists.words import day_and_clock
from scheduling.sterile.prints.contents import name_of
from scheduling.sterile.prints.sheet import Part, Sheet

Rows = tuple[tuple[str, ...], ...]


def handover_of(content: dict[str, Any], site: Site) -> Sheet:
    """`content`: as the handover's page has it.  No query.

    What happened and moved is told from the last handover on; before the first there is nothing
    to tell it from, and the sheet says that instead of "nothing".
    """
    last = content["handover"]
    if last:
        under = f"Last handover {day_and_clock(content['handed_at'])}, {name_of(last.by)}"
    else:
        under = "No handover before this one: what happened and moved until now is not listed."
    return Sheet(
        title="Handover",
        site=site.name,
        as_of=site.local(site.now()),
        under=(under,),
        parts=(*_open_parts(content), *(_parts_since(content) if last else ())),
        signatures=("Handed over by", "Taken over by"),
        clock_is_real=site.clock_is_real,
    )


def _open_parts(content: dict[str, Any]) -> list[Part]:
    """The worst first: sets that no tray can be, then the work, then what is held and away."""
    last, unserved = content["handover"], content["unserved"]
    columns = (("By", 0.24), ("Tray", 0.16), ("For", 0.23), ("Stage", 0.19), ("To know", 0.18))
    parts = [
        Part("Said at the last handover", (("", 1.0),), _lines(last.note if last else "")),
        Part("No tray for", _three("By", "Case", "Set for"), _no_tray(unserved)),
        Part("To do first", columns, _work(content), none="Every tray that a case needs is ready."),
        Part("On hold", _three("Tray", "Stage", "Why"), _held(content)),
        Part(
            "Incidents that are open", _three("Tray", "Opened for", "To know"), _incidents(content)
        ),
        Part(
            "Instruments away from their trays", _three("Of tray", "How", "Which"), _away(content)
        ),
        Part("Loads and machines", _three("Which", "State", "To know"), _loads(content)),
    ]
    always = ("To do first", "On hold", "Loads and machines")
    return [part for part in parts if part.rows or part.title in always]


def _parts_since(content: dict[str, Any]) -> tuple[Part, Part]:
    happened = tuple(
        (_at(at), one.what, str(one.matter), one.said) for one, at in content["happened"]
    )
    changes = tuple(
        (_at(at), one.tray, f"{one.before}, then {one.after}", one.why)
        for one, at in content["changes"]
    )
    return (
        Part(
            "Happened since the last handover",
            (("At", 0.24), ("Which", 0.18), ("What", 0.22), ("To know", 0.36)),
            happened,
            none="No load failed or was released, nothing was held or found missing.",
        ),
        Part(
            "Moved since the last handover",
            (("At", 0.24), ("Tray", 0.16), ("Stage", 0.34), ("Why", 0.26)),
            changes,
            none="Nothing moved.",
        ),
    )


def _at(moment: datetime) -> str:
    """`Thu 11 Mar 13:15`: what is on the list lies up to two weeks ahead."""
    return f"{day(moment)} {moment:%H:%M}"


def _three(*titles: str) -> tuple[tuple[str, float], ...]:
    return tuple(zip(titles, (0.25, 0.25, 0.5), strict=True))


def _lines(note: str) -> Rows:
    return tuple((line.strip(),) for line in note.splitlines() if line.strip())


def _no_tray(unserved: Any) -> Rows:
    return tuple(
        (_at(row.needed_by), f"{row.case} {row.theatre}".strip(), row.purpose) for row in unserved
    )


def _work(content: dict[str, Any]) -> Rows:
    return tuple(
        (
            _at(row.needed_by),
            row.tray,
            f"{row.case} {row.theatre}".strip(),
            f"with {row.after} before" if row.after else row.stage,
            "; ".join([*_slack(row.slack_minutes), *(f"lacks {one.words}" for one in row.lacks)]),
        )
        for row in content["work"]
    )


def _slack(minutes: int | None) -> list[str]:
    if minutes is None:
        return []
    return [f"{span(minutes)} {'late' if minutes < 0 else 'slack'}"]


def _held(content: dict[str, Any]) -> Rows:
    return tuple((row.tray, row.stage, _why(row)) for row in content["held"])


def _why(row: Any) -> str:
    why = (row.state.why if row.state else "") or row.note
    back = row.state.back_on if row.state else None
    return f"{why}; back on {day(back)}" if back else why


def _incidents(content: dict[str, Any]) -> Rows:
    return tuple(
        (str(one.pack.tray), f"case {one.case_ref}", f"load {one.pack.load}: incident open")
        for one in content["incidents"]
    )


def _away(content: dict[str, Any]) -> Rows:
    return tuple(
        (str(one.from_tray), one.way, f"{one.instrument.in_words()} {one.to_tray or ''}".strip())
        for one in content["away"]
    )


def _loads(content: dict[str, Any]) -> Rows:
    asked = "not asked for"
    loads = tuple(
        (
            str(load),
            load.state,
            "" if load.biological == asked else f"biological indicator {load.biological}",
        )
        for load in content["loads"]
    )
    machines = tuple((one.code, "out of use", one.down_reason) for one in content["down"])
    return (*loads, *machines)
