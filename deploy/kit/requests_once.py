"""The same request, one effect: the key that a client gives to a request that writes.

The header is `Idempotency-Key` (IETF draft-ietf-httpapi-idempotency-key-header).  What was
answered to a key is kept in `RequestKey`, in the transaction of the effect itself.
"""

from __future__ import annotations

import re

from rest_framework.request import Request

HEADER = "Idempotency-Key"
LONGEST = 64


class KeyMissing(ValueError):
    """The request has no key."""


class KeyInvalid(ValueError):
    """The key is empty, too long or holds what is not visible."""


def request_key(request: Request) -> str:
    """The request's key: 1 to 64 visible ASCII characters.

    The draft writes it as a quoted string; bare ones are taken too.  KeyMissing, KeyInvalid.
    """
    given = request.headers.get(HEADER)
    if given is None:
        raise KeyMissing
    quoted = re.fullmatch(r'"(.*)"', given.strip())
    key = quoted[1] if quoted else given.strip()
    if not re.fullmatch(rf"[!-~]{{1,{LONGEST}}}", key):
        raise KeyInvalid
    return key
