"""The uploaded bytes: never more than the limit in memory, and what kind of file they are."""

from __future__ import annotations

import hashlib
from typing import Protocol

from deploy.kit.workbooks.faults import Refused
from deploy.kit.workbooks.limits import LIMITS, MB, Limits
from deploy.kit.workbooks.words import Code

ZIP = b"PK\x03\x04"
EMPTY_ZIP = b"PK\x05\x06"
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")
OTHERS = (
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a text of a word processor (RTF)"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"7z\xbc\xaf", "a compressed file"),
    (b"Rar!", "a compressed file"),
)
LOOKED_AT = 4_096
MARKS_OF_UNICODE = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


class Readable(Protocol):
    def read(self, size: int, /) -> bytes: ...


def take(file: Readable, limits: Limits = LIMITS) -> bytes:
    """The whole file, or one byte more than allowed, which `check_kind` then refuses."""
    return file.read(limits.uploaded + 1)


def sha256_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def check_kind(data: bytes, limits: Limits = LIMITS) -> None:
    """Raise Refused unless `data` starts as an .xlsx does.  Names of files are not believed."""
    if not data:
        raise Refused(Code.EMPTY_FILE)
    if len(data) > limits.uploaded:
        raise Refused(Code.TOO_BIG, most=limits.uploaded // MB)
    if data.startswith(ZIP):
        return
    if data.startswith(OLE):
        raise Refused(Code.ENCRYPTED if ENCRYPTED_STREAM in data else Code.OLD_XLS)
    for start, name in OTHERS:
        if data.startswith(start):
            raise Refused(Code.OTHER_FORMAT, format=name)
    head = data[:LOOKED_AT]
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        raise Refused(Code.WEB_PAGE)
    if is_text(head):
        raise Refused(Code.TEXT_FILE)
    raise Refused(Code.NOT_A_WORKBOOK)


def is_text(head: bytes) -> bool:
    """Whether these bytes read as a text file: a mark of Unicode, or no control bytes."""
    return head.startswith(MARKS_OF_UNICODE) or all(
        byte >= 32 or byte in b"\t\r\n" for byte in head
    )
