"""The zip archive's directory, checked before anything is unpacked."""

from __future__ import annotations

import io
import struct
import zlib
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from deploy.kit.workbooks.faults import Refused, quoted
from deploy.kit.workbooks.limits import LIMITS, MB, Limits
from deploy.kit.workbooks.words import Code

ZIP_ERRORS = (
    *(BadZipFile, zlib.error, struct.error, EOFError, OSError),
    *(NotImplementedError, RuntimeError, ValueError, OverflowError),
)
"""What the zip library raises for archives that are not whole."""

ENCRYPTED_FLAG = 0x1
LOCAL_HEADER = 30
"""Bytes before the name of a part, in front of its contents."""


def open_archive(data: bytes, limits: Limits = LIMITS) -> ZipFile:
    """The archive, its directory found sound.  Raises Refused."""
    try:
        archive = ZipFile(io.BytesIO(data))
    except ZIP_ERRORS as error:
        raise Refused(Code.DAMAGED, detail="the archive can't be opened") from error
    parts = archive.infolist()
    if len(parts) > limits.parts:
        raise Refused(Code.TOO_MANY_PARTS, most=f"{limits.parts:,}")
    check_names(parts)
    for part in parts:
        check_packing(part, limits)
    check_sizes(parts, len(data), limits)
    check_places(parts, archive.start_dir)
    return archive


def check_names(parts: list[ZipInfo]) -> None:
    """No name leads outside, and none is there twice: two readers could take different ones."""
    seen: set[str] = set()
    for part in parts:
        # As stored: the library's `filename` ends at a NUL.
        name = part.orig_filename
        steps = name.split("/")
        if not name or name[0] == "/" or ".." in steps or any(c in name for c in "\\:\0"):
            raise Refused(Code.UNSAFE_NAME, part=quoted(name))
        if name.casefold() in seen:
            raise Refused(Code.PART_TWICE, part=quoted(name))
        seen.add(name.casefold())


def check_packing(part: ZipInfo, limits: Limits) -> None:
    if part.flag_bits & ENCRYPTED_FLAG:
        raise Refused(Code.ENCRYPTED)
    if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise Refused(Code.ODD_PACKING, part=quoted(part.filename))
    if part.file_size > limits.unpacked:
        raise Refused(Code.UNPACKS_TOO_BIG, most=limits.unpacked // MB)
    if (
        part.file_size > limits.ratio_applies_from
        and part.file_size > limits.ratio * part.compress_size
    ):
        raise Refused(Code.PACKED_TOO_TIGHTLY, part=quoted(part.filename), most=limits.ratio)


def check_sizes(parts: list[ZipInfo], uploaded: int, limits: Limits) -> None:
    unpacked = sum(part.file_size for part in parts)
    if unpacked > limits.unpacked:
        raise Refused(Code.UNPACKS_TOO_BIG, most=limits.unpacked // MB)
    if unpacked > limits.ratio_applies_from and unpacked > limits.ratio * uploaded:
        raise Refused(Code.PACKED_TOO_TIGHTLY, part="“(all)”", most=limits.ratio)


def check_places(parts: list[ZipInfo], end: int) -> None:
    """No part lies over the next: overlapping parts unpack the same bytes again and again."""
    in_order = sorted(parts, key=lambda part: part.header_offset)
    ends = [*(part.header_offset for part in in_order[1:]), end]
    for part, next_starts in zip(in_order, ends, strict=True):
        name = len(part.orig_filename.encode("utf-8", "surrogateescape"))
        if part.header_offset + LOCAL_HEADER + name + part.compress_size > next_starts:
            raise Refused(Code.PARTS_OVERLAP, part=quoted(part.filename))
