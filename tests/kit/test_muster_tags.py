from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.template import Context, Template

from scheduling.coverage.report import Verdict

SHAPES = Path(__file__).parents[2] / "deploy" / "templates" / "components" / "_shapes.html"


def shown(template: str, **values: object) -> str:
    return Template("{% load muster %}" + template).render(Context(values)).strip()


def test_a_moment_is_shown_in_the_zone_that_it_carries() -> None:
    """Django's own `date` filter would turn it into the server's zone, UTC."""
    moment = datetime(2027, 7, 1, 7, 5, tzinfo=ZoneInfo("Europe/London"))
    assert shown("{{ m|clock }} {{ m|day }}", m=moment) == "07:05 Thu 1 Jul"
    assert shown("{{ m|long_day }}; {{ m|full_date }}", m=moment) == (
        "Thursday 1 July 2027; 1 Jul 2027"
    )


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0, "0 min"),
        (45, "45 min"),
        (-45, "45 min"),
        (60, "1 h"),
        (130, "2 h 10 min"),
        (125, "2 h 05 min"),
        (1440, "1 d"),
        (4570, "3 d 4 h"),
    ],
)
def test_spans(minutes: int, words: str) -> None:
    assert shown("{{ n|span }}", n=minutes) == words


@pytest.mark.parametrize("verdict", list(Verdict))
def test_a_verdict_is_a_word_then_a_shape_of_its_own(verdict: Verdict) -> None:
    html = shown("{% verdict v %}", v=verdict)
    word = html.index(f">{str(verdict).capitalize()}<")
    shape = html.split('href="#')[1].split('"')[0]
    assert word < html.index("<svg")
    assert f'id="{shape}"' in SHAPES.read_text()
