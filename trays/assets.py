"""Asset identifiers (GS1 GIAI) for trays whose tag gives none."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import count

SET_82 = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+""")
"""The characters of a GS1 asset identifier (GS1 General Specifications, character set 82)."""

LONGEST_ASSET = 30


def assets_of(prefix: str, codes: Iterable[str], taken: Iterable[str] = ()) -> dict[str, str]:
    """Tray code → asset identifier: prefix and code where GS1 allows it, else a number.

    `taken`: identifiers of other trays, which are skipped.
    """
    codes, used = sorted(codes), set(taken)
    assets = {
        code: prefix + code
        for code in codes
        if SET_82.fullmatch(code)
        and len(prefix + code) <= LONGEST_ASSET
        and prefix + code not in used
    }
    used |= set(assets.values())
    numbers = (f"{prefix}{number}" for number in count(1))
    for code in codes:
        if code not in assets:
            assets[code] = next(number for number in numbers if number not in used)
    return assets
