"""A client that gets its answers late or not at all, and so sends its requests again and again."""

from __future__ import annotations

import json
import random
from collections import Counter
from typing import Any

from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person

MOST_TIMES = 8


def post_over_and_over(*, number: int, requests: int, code: str) -> dict[str, Any]:
    """Post each of the pair's requests one to eight times; one in ten loses its commit.

    Two workers are a pair: they post the same requests with the same keys at the same time.  What
    it was answered, by key, and how many posts that took.
    """
    pair, dice = number // 2, random.Random(number)
    person = Person.objects.select_related("user").get(user__username="coordinator")
    client = Client(raise_request_exception=False, SERVER_NAME="localhost")
    client.force_login(person.user)
    answers: dict[str, str] = {}
    counted: Counter[str] = Counter()
    for request in range(requests):
        key = f"{pair}-{request}"
        said: set[str] = set()
        text = ""
        times = 1 + dice.randrange(MOST_TIMES)
        while times > 0 or not said:
            times -= 1
            assert times > -50, f"never answered: {text}"
            if dice.random() < 0.1:
                lose_the_commit()
            status, text = _post(client, code, pair, request, key)
            counted["posts"] += 1
            if status in (201, 302):
                said.add(text)
            else:
                counted["without an answer"] += 1
                assert status in (409, 500, 503), (status, text)
        assert len(said) == 1, said
        answers[key] = said.pop()
    return {"answers": answers, "counted": counted}


def _post(client: Client, code: str, pair: int, request: int, key: str) -> tuple[int, str]:
    """By turns through the API and through a page."""
    if request % 2:
        form = {"text": f"rubbish {request}", "version": 1, "request_key": key}
        response = client.post(reverse("scan_list", args=[code]), form)
        return response.status_code, response.headers.get("Location", "")
    done = client.post(
        reverse("api_unit_quarantine", args=[f"P{pair}"]),
        {"reason": f"dropped {request}", "seq": 1 + request // 2},
        content_type="application/json",
        headers={"Idempotency-Key": key},
    )
    # PostgreSQL keeps what a JSON object says, and not the order of its keys.
    is_said = done.status_code == 201
    return done.status_code, json.dumps(done.json(), sort_keys=True) if is_said else done.text


def lose_the_commit() -> None:
    """The next commit fails, once, as when the server goes away: the effect's, or the session's."""
    commit = connection._commit

    def failing() -> None:
        connection._commit = commit
        raise OperationalError("the server closed the connection")

    connection._commit = failing
