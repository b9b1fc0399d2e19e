"""What every answer tells the browser; and production settings that let nothing slip."""

from __future__ import annotations

import os
import re
import secrets
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests.deploy.test_house_rules import page_faults
from tests.hospital import Hospital

pytestmark = pytest.mark.any_database

ROOT = Path(__file__).resolve().parents[2]

OPEN_PAGES = ("login", "switch", "first_run")
PAGES = (
    *("needed_next", "to_order", "shelf", "cases", "scan", "your_pin", "api_docs"),
    *("admin:index", "admin:kit_site_changelist", "admin:trays_tray_add"),
)


@pytest.fixture
def pages(hospital: Hospital, coordinator: Any, client_of: Any) -> dict[str, Any]:
    browser = client_of(coordinator)
    case = reverse("case", args=[hospital.case.pk])
    answers = {name: Client().get(reverse(name)) for name in OPEN_PAGES}
    answers |= {name: browser.get(reverse(name)) for name in PAGES}
    answers |= {case: browser.get(case), "/none/": browser.get("/none/")}
    browser.post("/lock/")
    return answers | {"locked": browser.get("/locked/")}


def test_every_page_forbids_what_is_inline_or_from_elsewhere(pages: dict[str, Any]) -> None:
    policy = {
        *("default-src 'self'", "img-src 'self' data:", "object-src 'none'", "base-uri 'none'"),
        *("form-action 'self'", "frame-ancestors 'none'"),
    }
    for name, answer in pages.items():
        assert set(answer.headers["Content-Security-Policy"].split("; ")) == policy, name


def test_no_page_holds_anything_inline(pages: dict[str, Any]) -> None:
    faults = [(name, *fault) for name, page in pages.items() for fault in page_faults(page.text)]
    assert not faults


@pytest.mark.parametrize(
    ("header", "value"),
    [
        ("Referrer-Policy", "same-origin"),
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
    ],
)
def test_every_page_says(header: str, value: str, pages: dict[str, Any]) -> None:
    assert {answer.headers[header] for answer in pages.values()} == {value}


@pytest.mark.parametrize("name", ["switch", "first_run", "login"])
def test_no_browser_keeps_a_page_with_a_secret(name: str, pages: dict[str, Any]) -> None:
    assert "no-store" in pages[name].headers["Cache-Control"]


PRODUCTION = {
    "MUSTER_SECRET_KEY": secrets.token_urlsafe(48),
    "MUSTER_HOSTS": "muster.example",
    "MUSTER_HTTPS": "1",
    "PATH": os.environ["PATH"],
}


def manage(*arguments: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error", "manage.py", *arguments],
        cwd=ROOT,
        env={**PRODUCTION, **env},
        capture_output=True,
        text=True,
    )


def test_production_settings_pass_the_deployment_check() -> None:
    found = manage("check", "--deploy", "--fail-level", "WARNING")
    assert found.returncode == 0, found.stderr


def test_production_cookies_and_https() -> None:
    wanted = (
        *("SESSION_COOKIE_NAME", "CSRF_COOKIE_NAME", "SESSION_COOKIE_SECURE"),
        *("CSRF_COOKIE_SECURE", "SESSION_COOKIE_HTTPONLY", "SECURE_SSL_REDIRECT"),
        *("SECURE_HSTS_SECONDS", "DEBUG", "DEMO"),
    )
    said = manage(
        "shell", "--no-imports", "-c",
        f"from django.conf import settings; print(*(getattr(settings, n) for n in {wanted!r}))",
    )  # fmt: skip
    assert said.stdout.split() == [
        *("__Host-session", "__Host-csrf", "True", "True", "True", "True"),
        *(str(365 * 24 * 3600), "False", "False"),
    ], said.stderr


def test_a_wrong_set_up_fails_the_deployment_check() -> None:
    found = manage("check", "--deploy", "--fail-level", "WARNING", MUSTER_HTTPS="0")
    assert found.returncode == 1
    assert re.search(r"security\.W008", found.stderr)
