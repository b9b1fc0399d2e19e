"""The API's schema is a snapshot: a change of the API shows in the change of one file.

After a change that was meant:

    python manage.py spectacular --validate --fail-on-warn --file fixtures/api-schema.yml
"""

from __future__ import annotations

import re
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import call_command
from django.urls import reverse

SNAPSHOT = settings.BASE_DIR / "fixtures" / "api-schema.yml"


@pytest.fixture(scope="module")
def schema() -> str:
    """Made strictly: a warning fails."""
    out = StringIO()
    call_command("spectacular", validate=True, fail_on_warn=True, stdout=out)
    return out.getvalue()


def test_the_schema_is_the_snapshot(schema):
    assert schema.strip() == SNAPSHOT.read_text(encoding="utf-8").strip()


def test_the_served_schema_is_the_snapshot(client_of, manager):
    served = client_of(manager).get(reverse("api_schema"))
    assert served.text.strip() == SNAPSHOT.read_text(encoding="utf-8").strip()


def test_the_page_to_try_it_on_has_nothing_inline(client_of, manager):
    page = client_of(manager).get(reverse("api_docs"))
    assert page.status_code == 200
    assert not re.search(r"<script(?![^>]*src=)|<style| style=| on\w+=", page.text)
    script = client_of(manager).get(reverse("api_docs"), {"script": ""})
    assert script["Content-Type"] == "application/javascript"
    assert reverse("api_schema") in script.text
