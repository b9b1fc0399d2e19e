"""The documents name only what exists, and their pictures stay small."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
DOCUMENTS = ["README.md", "DEVELOPERS.md"]
LARGEST = 200_000

LINK = re.compile(r"\]\((?!\w+://)([^)#\s]+)")
NAMED = re.compile(r"`((?!/)[\w./-]+(?:/|\.(?:py|md|toml|html|json|png|sh)))`")
SCRIPT = re.compile(r"\b(?:deploy|\.ci)/(?:demo|test|lock|make_tour|run)\b")


def named_in(text: str) -> set[str]:
    """Paths that a document links to, or writes as code: files by their ending, folders by /."""
    return {*LINK.findall(text), *NAMED.findall(text), *SCRIPT.findall(text)}


def exists(name: str) -> bool:
    """As said from the top, or, for a name within a part that the sentence has named, below."""
    return (ROOT / name).exists() or any(
        (ROOT / part / name).exists() for part in ("scheduling", "scheduling/coverage")
    )


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_document_names_only_what_exists(document: str) -> None:
    names = named_in((ROOT / document).read_text())
    assert len(names) > 5
    assert not sorted(name for name in names if not exists(name))


def test_a_name_of_nothing_is_found() -> None:
    text = "[a](deploy/tour/none.png) and `scheduling/none.py`, [out](https://x.example/a)"
    assert named_in(text) == {"deploy/tour/none.png", "scheduling/none.py"}
    assert not exists("scheduling/none.py")


def test_the_tours_pictures_are_small_and_all_shown() -> None:
    shown = named_in((ROOT / "README.md").read_text())
    pictures = sorted((ROOT / "deploy" / "tour").glob("*.png"))
    assert pictures
    assert [path.name for path in pictures if path.stat().st_size > LARGEST] == []
    assert [path.name for path in pictures if f"deploy/tour/{path.name}" not in shown] == []
