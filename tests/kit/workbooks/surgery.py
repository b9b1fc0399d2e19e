"""Cuts into the bytes of a zip archive that no ordinary program makes."""

from __future__ import annotations

import io
import struct
import warnings
import zipfile

LOCAL, CENTRAL, END = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"
FLAGS_LOCAL, FLAGS_CENTRAL = 6, 8
METHOD_CENTRAL = 10
SIZE_CENTRAL, OFFSET_CENTRAL = 24, 42


def central(data: bytes, name: str) -> int:
    """Where the directory's entry of a part starts."""
    return data.index(name.encode(), data.index(CENTRAL)) - 46


def put(data: bytes, at: int, form: str, value: int) -> bytes:
    packed = struct.pack(form, value)
    return data[:at] + packed + data[at + len(packed) :]


def said_encrypted(data: bytes, name: str) -> bytes:
    return put(data, central(data, name) + FLAGS_CENTRAL, "<H", 1)


def said_size(data: bytes, name: str, size: int) -> bytes:
    """The directory claims another unpacked size."""
    return put(data, central(data, name) + SIZE_CENTRAL, "<I", size)


def overlapping(data: bytes, name: str, other: str) -> bytes:
    """The directory's entry of `name` points into the contents of `other`."""
    start = struct.unpack_from("<I", data, central(data, other) + OFFSET_CENTRAL)[0]
    return put(data, central(data, name) + OFFSET_CENTRAL, "<I", start + 1)


def twice(data: bytes, name: str, content: bytes) -> bytes:
    out = io.BytesIO(data)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr(name, content)
    return out.getvalue()


def with_part(data: bytes, name: str, content: bytes = b"x", method: int = 8) -> bytes:
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr(zipfile.ZipInfo(name), content, method)
    return out.getvalue()


def changed_contents(data: bytes, name: str) -> bytes:
    """One byte in the middle of a part's packed contents is another."""
    packed = struct.unpack_from("<I", data, central(data, name) + 20)[0]
    at = data.index(name.encode()) + len(name) + packed // 2
    return put(data, at, "<B", data[at] ^ 0xFF)
