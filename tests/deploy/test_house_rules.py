"""Rules of the house that a machine can check; each fault says what to do instead."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml"),
    *(".gitignore", ".ci", "trays", "implants", "scheduling", "tests", "fixtures", "deploy"),
}
LONGEST = 400
MARKUP = {".html", ".css", ".js", ".svg"}
WRITTEN_BY_HAND = {".py", ".sh", *MARKUP}

NAMESPACES = re.compile(r"""xmlns(?::\w+)?=["'][^"']+["']|["']http://www\.w3\.org/[^"']+["']""")
"""Names that look like addresses; nothing is fetched from them."""

IN_A_PAGE = {
    r"<style\b": "the policy refuses a style element: write a class in a style sheet",
    r"<script\b(?![^>]*\bsrc=)": "the policy refuses an inline script: put it into static/",
    r"\sstyle\s*=": "the policy refuses style attributes: write a class, or an SVG attribute",
    r"""\son[a-z]+\s*=\s*["']""": "the policy refuses inline handlers: listen in a script",
    r"javascript:": "the policy refuses script addresses: use a button and a script",
}
ELSEWHERE = r"""(?:https?:)?//(?=[\w-]+\.[\w.-]*\w)"""
A_MACHINE = r"(?<![\w./-])/(?:work|home|root|Users)/\w"


def files() -> list[Path]:
    """What is in the repository, or would be with the next commit."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    return [path for name in listed.stdout.split("\0") if name and (path := ROOT / name).is_file()]


def places(pattern: str, text: str) -> Iterator[int]:
    """The lines on which the pattern is found, counted from 1."""
    for found in re.finditer(pattern, text, re.IGNORECASE):
        yield text.count("\n", 0, found.start()) + 1


def page_faults(text: str) -> Iterator[tuple[int, str]]:
    for pattern, instead in IN_A_PAGE.items():
        for line in places(pattern, text):
            yield line, instead


def fetched_from_elsewhere(text: str) -> Iterator[tuple[int, str]]:
    for line in places(ELSEWHERE, NAMESPACES.sub("", text)):
        yield line, "a hospital has no internet: serve it from static/"


NOTHING_IS_KEPT = {
    *(
        f"deploy/templates/{name}.html"
        for name in ("log_in", "switch", "locked", "components/_lock", "first_run", "your_pin")
    ),
    # A draft is written once, whoever asks; and a key would hide its progress in a transaction.
    "scheduling/templates/scheduling/workbooks/draft.html",
}
"""Templates whose forms write nothing that a second request could double.  A key would put the
first ones into one transaction, with which the count of wrong tries at a secret could be undone."""


def forms_without_a_key(text: str) -> Iterator[tuple[int, str]]:
    for form in re.finditer(r"<form\b[^>]*method=.post.*?</form>", text, re.DOTALL | re.IGNORECASE):
        if "{% request_key %}" not in form[0] and "{% url 'logout' %}" not in form[0]:
            line = text.count("\n", 0, form.start()) + 1
            yield line, "a double click does it twice: {% request_key %} beside {% csrf_token %}"


LOG_IN_DOORS = {"deploy/kit/log_in_form.py"}
ASKS_FOR_A_PASSWORD = r"\bauthenticate\(|\bAuthenticationForm\b"


def asked_past_the_doors(text: str) -> Iterator[tuple[int, str]]:
    for line in places(ASKS_FOR_A_PASSWORD, text):
        yield line, "tries are not counted here: sign() of deploy/kit/signed_act.py, or the log-in"


def told(path: Path, found: Iterator[tuple[int, str]]) -> list[str]:
    return [f"{path.relative_to(ROOT)}:{line}: {instead}" for line, instead in found]


def test_pages_hold_no_inline_script_or_style() -> None:
    faults = [
        fault
        for path in files()
        if path.suffix == ".html"
        for fault in told(path, page_faults(path.read_text()))
    ]
    assert not faults, "\n" + "\n".join(faults)


def test_pages_fetch_nothing_from_elsewhere() -> None:
    faults = [
        fault
        for path in files()
        if path.suffix in MARKUP
        for fault in told(path, fetched_from_elsewhere(path.read_text()))
    ]
    assert not faults, "\n" + "\n".join(faults)


def test_forms_take_effect_once() -> None:
    faults = [
        fault
        for path in files()
        if path.suffix == ".html" and str(path.relative_to(ROOT)) not in NOTHING_IS_KEPT
        for fault in told(path, forms_without_a_key(path.read_text()))
    ]
    assert not faults, "\n" + "\n".join(faults)


def test_a_form_without_a_key_is_found() -> None:
    form = '\n<form method="post">{% csrf_token %}</form>'
    assert [line for line, _ in forms_without_a_key(form)] == [2]
    assert not list(forms_without_a_key(form.replace("{% csrf", "{% request_key %}{% csrf")))


@pytest.mark.parametrize(
    "markup",
    [
        "<style>p {}</style>",
        "<script>go()</script>",
        '<p style="color: red">',
        "<button onclick='go()'>",
        '<a href="javascript:go()">',
    ],
)
def test_inline_script_and_style_are_found(markup: str) -> None:
    assert [line for line, _ in page_faults(f"<p>\n{markup}")] == [2]


def test_a_script_by_address_is_no_fault() -> None:
    assert list(page_faults("""<script src="{% static 'muster.js' %}" defer></script>""")) == []


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ('<img src="https://cdn.example/a.png">', [1]),
        ('<link href="//fonts.example/a.css">', [1]),
        ('<svg xmlns="http://www.w3.org/2000/svg">', []),
        ("// a comment", []),
    ],
)
def test_addresses_elsewhere_are_found(text: str, lines: list[int]) -> None:
    assert [line for line, _ in fetched_from_elsewhere(text)] == lines


def test_passwords_are_asked_for_at_the_log_in_doors_alone() -> None:
    source = [
        path for path in files() if path.suffix == ".py" and ROOT / "tests" not in path.parents
    ]
    assert {ROOT / door for door in LOG_IN_DOORS} <= set(source)
    faults = [
        fault
        for path in source
        if str(path.relative_to(ROOT)) not in LOG_IN_DOORS
        for fault in told(path, asked_past_the_doors(path.read_text()))
    ]
    assert not faults, "\n" + "\n".join(faults)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("user = authenticate(username=name)", [1]),
        ("\nfrom django.contrib.auth.forms import AuthenticationForm", [2]),
        ("if request.user.is_authenticated:", []),
    ],
)
def test_a_password_asked_for_elsewhere_is_found(text: str, lines: list[int]) -> None:
    assert [line for line, _ in asked_past_the_doors(text)] == lines


def test_files_stay_short() -> None:
    faults = [
        f"{path.relative_to(ROOT)}: {lines} lines: find the noun that wants a file of its own"
        for path in files()
        if path.suffix in WRITTEN_BY_HAND and "migrations" not in path.parts
        if (lines := path.read_text().count("\n")) > LONGEST
    ]
    assert not faults, "\n" + "\n".join(faults)


def test_no_file_names_a_folder_of_one_machine() -> None:
    faults = [
        f"{path.relative_to(ROOT)}:{line}: a path of one machine: say it from the project's folder"
        for path in files()
        if path.suffix not in {".png", ".lock"}
        for line in places(A_MACHINE, path.read_text(errors="replace"))
    ]
    assert not faults, "\n" + "\n".join(faults)


def test_the_top_level_is_fixed() -> None:
    found = {path.relative_to(ROOT).parts[0] for path in files()}
    assert found <= TOP_LEVEL, "new at the top: put it into the part that it belongs to"


def test_the_locks_name_no_place_to_download_from() -> None:
    for lock in (ROOT / "deploy").glob("*.lock"):
        assert "://" not in lock.read_text(), f"{lock.name}: make it anew with deploy/lock"
