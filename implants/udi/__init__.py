"""Identities on boxes and trays: reading what a scanner types, building what is printed.

`read_scan(text, today=...)` is the one door for reading: it gives a `ScanRead` or raises a
`ScanError` with a code and values, which `say` puts into words.  `digital_link` builds links.

Pure Python without Django, on biip, which knows the GS1 identifiers.  What biip lets pass is
checked here: check digits, pairings, duplicates, characters, days that are not stated, and the
damage that a scanner does when it types like a keyboard.  GS1 is read (`gs1`, `digital_link`);
another standard gets a reader of its own beside them and its first character in `scan`.
"""

from implants.udi.faults import Caution, Fault, ScanError, ScanWarning
from implants.udi.scan import read_scan
from implants.udi.scan_read import Kind, ScanRead
from implants.udi.wording import say

__all__ = [
    "Caution",
    "Fault",
    "Kind",
    "ScanError",
    "ScanRead",
    "ScanWarning",
    "read_scan",
    "say",
]
