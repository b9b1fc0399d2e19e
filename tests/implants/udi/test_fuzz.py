"""Arbitrary and damaged texts: a scan error or a right reading, and nothing else.

What a right reading is, is said here without the code under test: the elements, written out
again, give the text that was scanned, the item number satisfies the GS1 sum, the dates are those
written.  What was built is read back as it was.
"""

from __future__ import annotations

import re
from datetime import date
from urllib.parse import unquote

from hypothesis import example, given, settings
from hypothesis import strategies as st

from implants.udi import Kind, ScanError, ScanRead, read_scan, say
from implants.udi.digital_link import asset_link, implant_link

TODAY = date(2026, 6, 1)
SET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
STAND_INS = ("\x1d", "^", "|", "~", "]", "{GS}", "[GS]", "\u241d")

values = st.text(SET_82, min_size=1, max_size=20)
segments = values.filter(lambda value: value not in (".", ".."))
days = st.dates(date(1977, 1, 1), date(2076, 12, 31))


def sum_is_right(number: str) -> bool:
    """The GS1 sum over all digits, the check digit included, is a multiple of ten."""
    return sum(int(d) * w for d, w in zip(reversed(number), [1, 3] * 9, strict=False)) % 10 == 0


def completed(payload: str) -> str:
    return next(payload + digit for digit in "0123456789" if sum_is_right(payload + digit))


gtins = st.text("0123456789", min_size=13, max_size=13).map(completed)


@st.composite
def boxes(draw: st.DrawFn) -> list[tuple[str, str]]:
    """The elements of a box's label, in any order."""
    day = draw(days).strftime("%y%m%d")
    elements = [
        ("01", draw(gtins)),
        ("17", draw(st.sampled_from([day, day[:4] + "00"]))),
        ("10", draw(values)),
        ("21", draw(values)),
        ("240", draw(values)),
    ]
    chosen = draw(st.lists(st.sampled_from(elements[1:]), unique=True))
    return draw(st.permutations([elements[0], *chosen]))


def as_raw(elements: list[tuple[str, str]], separator: str = "\x1d") -> str:
    return "".join(ai + value + ("" if ai in ("01", "17") else separator) for ai, value in elements)


def as_bracketed(elements: list[tuple[str, str]]) -> str:
    return "".join(f"({ai})" + value.replace("(", "\\(") for ai, value in elements)


@st.composite
def links(draw: st.DrawFn) -> str:
    lot, serial = draw(segments), draw(segments)
    return implant_link("https://a.example", draw(gtins), lot, serial, draw(days))


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """A label of which a character is lost, added or exchanged, up to four times."""
    elements = draw(boxes())
    whole = [as_raw(elements), "]C1" + as_raw(elements), as_bracketed(elements), draw(links())]
    text = draw(st.sampled_from(whole))
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(text)))
        put = draw(st.sampled_from(["", *SET_82, "\x1d", " ", "^", "]", "\u00e9", "\u0667"]))
        text = text[:place] + put + text[place + draw(st.integers(0, 1)) :]
    return text


pieces = st.lists(
    st.sampled_from(
        ["01", "02345678901234", "10", "17", "21", "8003", "8004", "270630", "(", ")", "(01)",
         "(10)", "]C1", "]E0", "]d2", "\x1d", "^", "/", "https://a.example", "?", "&", "=", "+",
         "%2F", "%", "A", "a", " ", "\r\n", "7999", "04"]
    ),
    max_size=12,
).map("".join)  # fmt: skip


def written_again(read: ScanRead, text: str) -> bool:
    """Whether the text is made of the elements that were read, of all and of nothing else."""
    text = text.strip(" \t\r\n")
    if re.match(r"\][A-Za-z][0-9]", text):
        text = text[3:]
    if read.kind is Kind.GTIN:
        return text.zfill(14) == read.gtin
    if read.kind is Kind.DIGITAL_LINK:
        text = unquote(text)
        return all(f"/{ai}/{v}" in text or f"{ai}={v}" in text for ai, v in read.ai.items())
    if text.startswith("("):
        text = text.replace("\\(", "(")
        parts = [rf"\({ai}\)[ \t\r\n]*{re.escape(v)}[ \t\r\n]*" for ai, v in read.ai.items()]
    else:
        for mark in STAND_INS:
            text = text.replace(mark, "")
        parts = [re.escape(ai + value) for ai, value in read.ai.items()]
    return bool(re.fullmatch(f"(?:{'|'.join(parts)})+", text)) and all(
        re.search(part, text) for part in parts
    )


def read_or_refusal(text: str) -> ScanRead | ScanError:
    try:
        return read_scan(text, today=TODAY)
    except ScanError as refusal:
        return refusal


def check(text: str) -> None:
    read = read_or_refusal(text)
    if isinstance(read, ScanError):
        assert say(read)
        return
    assert written_again(read, text)
    if read.gtin:
        assert len(read.gtin) == 14
        assert sum_is_right(read.gtin)
        assert read.ai["01"] == read.gtin
    else:
        assert not (read.lot or read.serial or read.made or read.expiry) or "7003" in read.ai
    assert (read.lot, read.serial) == (read.ai.get("10", ""), read.ai.get("21", ""))
    if "17" in read.ai and "7003" not in read.ai:
        assert read.expiry is not None
        assert read.expiry.strftime("%y%m") == read.ai["17"][:4]
        assert read.ai["17"][4:] in (f"{read.expiry:%d}", "00")
        assert 1977 <= read.expiry.year <= 2076
    assert all(say(warning) for warning in read.warnings)


@settings(max_examples=2000, deadline=None)
@given(damaged())
def test_damaged_labels_give_an_error_or_a_right_reading(text: str) -> None:
    check(text)


@settings(max_examples=2000, deadline=None)
@given(st.one_of(pieces, st.text(max_size=60), st.text("0123456789", max_size=40)))
@example("]")
@example("(")
@example("01\n")
@example("https://a.example/01/02345678901234?=&")
def test_arbitrary_texts_give_an_error_or_a_right_reading(text: str) -> None:
    check(text)


@settings(max_examples=500, deadline=None)
@given(boxes(), st.sampled_from(STAND_INS), st.sampled_from(["", "]C1", "]d2", "]Q3", "]e0"]))
def test_a_label_is_read_as_it_was_written(
    elements: list[tuple[str, str]], mark: str, symbology: str
) -> None:
    raw = read_scan(symbology + as_raw(elements, mark), today=TODAY)
    bracketed = read_scan(as_bracketed(elements), today=TODAY)
    assert list(raw.ai.items()) == elements
    assert bracketed == raw


@settings(max_examples=500, deadline=None)
@given(gtins, st.one_of(st.just(""), segments), st.one_of(st.just(""), segments), days)
def test_a_link_is_read_as_it_was_built(gtin: str, lot: str, serial: str, day: date) -> None:
    read = read_scan(implant_link("https://a.example/b", gtin, lot, serial, day), today=TODAY)
    assert (read.kind, read.gtin) == (Kind.DIGITAL_LINK, gtin)
    assert (read.lot, read.serial, read.expiry) == (lot, serial, day)


@settings(max_examples=500, deadline=None)
@given(st.text(SET_82, min_size=1, max_size=30).filter(lambda giai: giai not in (".", "..")))
def test_an_asset_link_is_read_as_it_was_built(giai: str) -> None:
    read = read_scan(asset_link("https://a.example", giai), today=TODAY)
    assert (read.giai, read.gtin) == (giai, "")
