"""Seeded damage to a workbook: to its bytes, to its archive, to what its parts say."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable

from tests.kit.workbooks.packages import BOOK, BOOK_LINKS, SHEET, STYLES, TEXTS, TYPES, zipped

Mutation = Callable[[bytes, random.Random], bytes]
TELLING = (SHEET, SHEET, SHEET, TEXTS, STYLES, BOOK, BOOK_LINKS, TYPES)
"""Parts to hit, the sheet most often."""
ODD = ("-1", "0", "1", "60", "1e9", "NaN", "A1", "XFD1", "s", "b", "d", "inlineStr", "str", "é", "")


def unzipped(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def flip_bytes(data: bytes, dice: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 8))):
        changed[dice.randrange(len(changed))] ^= 1 << dice.randrange(8)
    return bytes(changed)


def cut_off(data: bytes, dice: random.Random) -> bytes:
    return data[: dice.randrange(len(data))]


def cut_out(data: bytes, dice: random.Random) -> bytes:
    start = dice.randrange(len(data))
    return data[:start] + data[start + dice.randrange(1, 200) :]


def repeat_a_piece(data: bytes, dice: random.Random) -> bytes:
    start = dice.randrange(len(data))
    return data[:start] + data[start : start + dice.randrange(1, 200)] + data[start:]


def change_directory(data: bytes, dice: random.Random) -> bytes:
    """A number in the archive's directory is another."""
    changed = bytearray(data)
    start = data.index(b"PK\x01\x02")
    changed[dice.randrange(start, len(data))] = dice.randrange(256)
    return bytes(changed)


def drop_a_part(data: bytes, dice: random.Random) -> bytes:
    parts = unzipped(data)
    del parts[dice.choice(sorted(parts))]
    return zipped(parts)


def swap_two_parts(data: bytes, dice: random.Random) -> bytes:
    parts = unzipped(data)
    one, other = dice.sample(sorted(parts), 2)
    parts[one], parts[other] = parts[other], parts[one]
    return zipped(parts)


def in_a_part(change: Callable[[bytes, random.Random], bytes]) -> Mutation:
    """The archive stays whole; what one part says does not."""

    def mutate(data: bytes, dice: random.Random) -> bytes:
        parts = unzipped(data)
        name = dice.choice([part for part in TELLING if part in parts])
        return zipped({**parts, name: change(parts[name], dice)})

    mutate.__name__ = f"{change.__name__}_in_a_part"
    return mutate


def drop_a_tag(data: bytes, dice: random.Random) -> bytes:
    tag = dice.choice(list(re.finditer(rb"<[^>]+>", data)))
    return data[: tag.start()] + data[tag.end() :]


def drop_an_element(data: bytes, dice: random.Random) -> bytes:
    """A whole element, so that the rest is still well formed."""
    found = list(re.finditer(rb"<(\w+)[^>]*?(/>|>[^<]*</\1>)", data))
    element = dice.choice(found) if found else None
    return data[: element.start()] + data[element.end() :] if element else data


def repeat_an_element(data: bytes, dice: random.Random) -> bytes:
    found = list(re.finditer(rb"<(row|c|v|is|t|si|sheet|xf)\b.*?(/>|</\1>)", data))
    element = dice.choice(found) if found else None
    return data[: element.end()] + element[0] + data[element.end() :] if element else data


def odd_value(data: bytes, dice: random.Random) -> bytes:
    """An attribute's or an element's text is something odd."""
    found = list(re.finditer(rb'="[^"]*"|>[^<]+<', data))
    if not found:
        return data
    place = dice.choice(found)
    odd = dice.choice(ODD).encode()
    inside = b'="' + odd + b'"' if place[0].startswith(b"=") else b">" + odd + b"<"
    return data[: place.start()] + inside + data[place.end() :]


def change_a_digit(data: bytes, dice: random.Random) -> bytes:
    found = list(re.finditer(rb"\d", data))
    if not found:
        return data
    at = dice.choice(found).start()
    return data[:at] + str(dice.randrange(10)).encode() + data[at + 1 :]


MUTATIONS: tuple[Mutation, ...] = (
    flip_bytes,
    cut_off,
    cut_out,
    repeat_a_piece,
    change_directory,
    drop_a_part,
    swap_two_parts,
    *map(in_a_part, (flip_bytes, cut_off, cut_out, repeat_a_piece, drop_a_tag, drop_an_element)),
    *map(in_a_part, (repeat_an_element, repeat_an_element, odd_value, odd_value, change_a_digit)),
)
