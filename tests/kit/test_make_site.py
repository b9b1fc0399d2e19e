"""A hospital's site is made on the machine itself."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.models import Site


@pytest.mark.django_db
def test_a_site_is_made_with_a_real_clock() -> None:
    out = StringIO()
    call_command("make_site", "second", "Second house", "--timezone", "Europe/London", stdout=out)
    site = Site.objects.get()
    assert (site.code, site.timezone, site.clock_is_real) == ("second", "Europe/London", True)
    assert out.getvalue() == (
        "Second house (second) is there, and empty.\n"
        "Printed codes, calendars and mails open http://127.0.0.1:8000, which is this machine "
        "alone: say the address that people use under Sites, before anything is printed.\n"
    )


@pytest.mark.django_db
def test_the_address_is_said_where_the_site_is_made() -> None:
    out = StringIO()
    said = ("--timezone", "Europe/London", "--address", "https://muster.second.example/")
    call_command("make_site", "second", "Second house", *said, stdout=out)
    assert Site.objects.get().address == "https://muster.second.example"
    assert out.getvalue() == "Second house (second) is there, and empty.\n"


@pytest.mark.django_db
def test_all_faults_at_once_and_nothing_is_made() -> None:
    with pytest.raises(CommandError) as refused:
        call_command("make_site", "two words", "", "--timezone", "Europe/Nowhere")
    assert {line.partition(":")[0] for line in str(refused.value).splitlines()} == {
        "code",
        "name",
        "timezone",
    }
    assert not Site.objects.exists()
