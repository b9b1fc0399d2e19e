"""Where a request came from, for the throttle and the security log."""

from __future__ import annotations

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str | None:
    """The client's IP address; None where the connection has none (a socket file, a test).

    What a client writes into X-Forwarded-For is believed from `settings.MUSTER_PROXIES` alone,
    and of that only the last entry, which the proxy itself has added.
    """
    address = request.META.get("REMOTE_ADDR", "")
    if address in settings.MUSTER_PROXIES:
        forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "")
        address = forwarded.rsplit(",", 1)[-1].strip() or address
    try:
        return str(ip_address(address))
    except ValueError:
        return None
