"""Identities on boxes and trays: reading what a scanner types, building what is printed.

`read_scan(text, today=...)` is the one door for reading: it gives a `ScanRead` or raises a
`ScanError` with a code and values, which `say` puts into words.  `read_two` reads a label whose
item stands in one code and its lot in another.  `digital_link` builds links.

Pure Python without Django, on biip, which knows the GS1 identifiers.  What biip lets pass is
checked here: check digits, pairings, duplicates, characters, days that are not stated, and the
damage that a scanner does when it types like a keyboard.  GS1 (`gs1`, `digital_link`) and HIBC
(`hibc`) are read; another standard gets a reader of its own beside them and its first character
in `scan`.
"""

from implants.udi.faults import Caution, Fault, ScanError, ScanWarning
from implants.udi.scan import read_scan
from implants.udi.scan_read import Kind, ScanRead
from implants.udi.two_codes import read_two
from implants.udi.wording import say

__all__ = [
    "Caution",
    "Fault",
    "Kind",
    "ScanError",
    "ScanRead",
    "ScanWarning",
    "read_scan",
    "read_two",
    "say",
]
