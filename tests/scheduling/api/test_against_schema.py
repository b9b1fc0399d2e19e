"""Every operation of the API, fifty times for each role and for nobody, with whatever its schema
allows: no crash, and every answer as the schema has it.  What is asked is drawn once for all of
them: drawing takes longer than answering.

The longer run: LONGER=1 deploy/test tests/scheduling/api/test_against_schema.py
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core import signals
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from django.middleware.csrf import _get_new_csrf_string
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import content_type_conformance, response_schema_conformance

from tests.proof.figures import size

EXAMPLES = size(50, 1_000)
CHECKS = [not_a_server_error, content_type_conformance, response_schema_conformance]
ROLES = ("sterile_services", "coordinator", "surgeon", "theatre_team", "manager")
NOBODY = "nobody"


class Browser:
    """The application as a browser of that person reaches it; nobody's has not logged in."""

    def __init__(self, client_of: Any) -> None:
        self.client_of, self.application = client_of, get_wsgi_application()
        self.sent: dict[str, str] = {}

    def __call__(self, environ: dict[str, Any], start: Any) -> Any:
        return self.application(environ | self.sent, start)

    def log_in(self, person: Any) -> dict[str, str]:
        """What this person's browser sends along, from here on."""
        token = _get_new_csrf_string()
        session = self.client_of(person).cookies["sessionid"].value
        cookies = f"sessionid={session}; csrftoken={token}"
        self.sent = {"HTTP_COOKIE": cookies, "HTTP_X_CSRFTOKEN": token}
        return self.sent


def there(hospital: Any) -> dict[str, dict[str, Any]]:
    """What the house has, by the path that names it: half of the requests ask for these."""
    code, case = hospital.printed.pick_list.code, {"id": hospital.case.pk}
    return {
        "/api/cases/{id}/": case,
        "/api/cases/{id}/coverage/": case,
        "/api/pick-lists/{code}/versions/{number}/": {"code": code, "number": 1},
        "/api/pick-lists/{code}/scans/": {"code": code},
        "/api/units/{code}/quarantine/": {"code": "U001"},
        "/api/trays/{code}/hold/": {"code": "BASE/1"},
    }


@pytest.fixture
def one_connection() -> Iterator[None]:
    """The server would close the test's own connection before and after each request."""
    between = (signals.request_started, signals.request_finished)
    for signal in between:
        signal.disconnect(close_old_connections)
    yield
    for signal in between:
        signal.connect(close_old_connections)


@pytest.mark.usefixtures("one_connection")
def test_no_answer_is_a_crash_or_other_than_the_schema_says(
    hospital, manager, client_of, request, figures
):
    browser, names = Browser(client_of), there(hospital)
    browser.log_in(manager)
    schema = schemathesis.openapi.from_wsgi(reverse("api_schema"), browser)
    sent_by = {role: browser.log_in(request.getfixturevalue(role)) for role in ROLES}
    sent_by[NOBODY] = {}
    counted: Counter[str] = Counter()
    answers: Counter[tuple[str, int]] = Counter()
    for found in schema.get_all_operations():
        operation = found.ok()
        counted["operations"] += 1

        @seed(1)
        @settings(
            max_examples=EXAMPLES,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy(), is_there=st.booleans())
        def ask(case: Any, is_there: bool) -> None:
            if is_there and case.operation.path in names:
                case.path_parameters.update(names[case.operation.path])
            for role, browser.sent in sent_by.items():
                response = case.call()
                answers[role, response.status_code] += 1
                # 404: no route has such an address, and nobody was asked who they are.
                assert role != NOBODY or response.status_code in (403, 404)
                case.validate_response(response, checks=CHECKS)

        ask()
    requests = sum(answers.values())
    figures("API against its schema", roles=len(sent_by), **counted, requests=requests, failures=0)
    assert requests >= EXAMPLES * counted["operations"] * len(sent_by) * 0.9
    assert all(answers[role, 200] > 0 for role in ROLES)
