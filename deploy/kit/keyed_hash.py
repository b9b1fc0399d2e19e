"""A keyed hash: finds a badge, a code or a subject again without keeping it.

The key is `settings.MUSTER_HASH_KEY`; without it a stolen database tells nothing.  With another
key badges have to be registered again.
"""

from __future__ import annotations

import hmac

from django.conf import settings


def keyed_hash(purpose: str, *parts: str) -> str:
    """64 hexadecimal digits (HMAC-SHA-256), different for each purpose."""
    # The lengths keep ("ab", "c") and ("a", "bc") apart.
    text = "".join(f"{len(part)}:{part}" for part in (purpose, *parts))
    return hmac.new(settings.MUSTER_HASH_KEY.encode(), text.encode(), "sha256").hexdigest()
