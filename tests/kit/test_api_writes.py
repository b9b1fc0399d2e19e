from __future__ import annotations

import pytest
from rest_framework.request import Request
from rest_framework.test import APIRequestFactory

from deploy.kit.api_writes import request_key
from deploy.kit.requests_once import KeyRefused


def with_key(*given: str) -> Request:
    headers = {"Idempotency-Key": given[0]} if given else {}
    return Request(APIRequestFactory().post("/", headers=headers))


@pytest.mark.parametrize(
    ("given", "key"),
    [
        # The form of the draft (draft-ietf-httpapi-idempotency-key-header): a quoted string.
        (
            '"8e03978e-40d5-43dd-bc93-6894a57f9324"',
            "8e03978e-40d5-43dd-bc93-6894a57f9324",
        ),
        ("k-1", "k-1"),
        (" k-1 ", "k-1"),
        ("k" * 64, "k" * 64),
    ],
)
def test_a_key_as_clients_send_it(given, key):
    assert request_key(with_key(given)) == key


@pytest.mark.parametrize("given", ["", '""', "a b", "k" * 65, "ключ", "a\tb"])
def test_a_key_that_cannot_be_used(given):
    with pytest.raises(KeyRefused) as refused:
        request_key(with_key(given))
    assert (refused.value.code, refused.value.status) == ("key_invalid", 400)


def test_no_key():
    with pytest.raises(KeyRefused) as refused:
        request_key(with_key())
    assert (refused.value.code, refused.value.status) == ("key_missing", 400)
