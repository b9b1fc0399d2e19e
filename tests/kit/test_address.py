from __future__ import annotations

import pytest
from django.test import RequestFactory

from deploy.kit.address import address_of


@pytest.mark.parametrize(
    ("proxies", "direct", "forwarded", "address"),
    [
        ((), "10.0.0.1", None, "10.0.0.1"),
        ((), "10.0.0.1", "10.9.9.9", "10.0.0.1"),
        (("127.0.0.1",), "10.0.0.1", "10.9.9.9", "10.0.0.1"),
        (("127.0.0.1",), "127.0.0.1", "10.0.0.7", "10.0.0.7"),
        # What the client itself had written stands before what the proxy added.
        (("127.0.0.1",), "127.0.0.1", "10.9.9.9, 10.0.0.7", "10.0.0.7"),
        (("127.0.0.1",), "127.0.0.1", None, "127.0.0.1"),
        (("::1",), "::1", "2001:DB8::7", "2001:db8::7"),
        (("127.0.0.1",), "127.0.0.1", "nonsense", None),
        ((), "", None, None),
    ],
)
def test_where_a_request_came_from(proxies, direct, forwarded, address, settings):
    settings.MUSTER_PROXIES = frozenset(proxies)
    headers = {} if forwarded is None else {"HTTP_X_FORWARDED_FOR": forwarded}
    request = RequestFactory().get("/", REMOTE_ADDR=direct, **headers)
    assert address_of(request) == address
