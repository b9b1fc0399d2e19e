from __future__ import annotations

from collections.abc import Callable

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, SecurityEvent, Site
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import Incident, Load, Tray
from trays.stages import Stage

pytestmark = pytest.mark.usefixtures("machines")


@pytest.fixture
def packed(bench: Bench, site: Site) -> Tray:
    version = factories.configuration(site, contents={factories.instrument(site): 1})
    tray = factories.tray(version, stage=Stage.ASSEMBLY, ready_at=factories.NOW)
    bench.at("count_tray", tray.pk).post(begin="1")
    bench.scan("p")
    bench.post(close="1")
    bench.post(weight="11,9", indicator="class 5")
    return tray


def test_what_was_typed_at_packing_is_not_lost_where_a_word_of_it_is_refused(
    bench: Bench, site: Site
) -> None:
    version = factories.configuration(site, contents={factories.instrument(site): 1})
    tray = factories.tray(version, stage=Stage.ASSEMBLY, ready_at=factories.NOW)
    bench.at("pack_tray", tray.pk).post(weight="ten", indicator="class 5")
    assert "weight: kilograms as a number, not “ten”" in words_of(bench.page)
    assert 'value="ten"' in bench.page.content.decode()
    assert 'value="class 5"' in bench.page.content.decode()


def test_from_the_count_to_the_release(bench: Bench, packed: Tray) -> None:
    assert "Too heavy 11.90 kg, over the limit of 11.34 kg" in words_of(bench.page)
    bench.at("bench").scan("S1")
    assert bench.scan(packed.code) == ("MOVED", "now in load S1-1")
    assert bench.scan(packed.code)[0] == "ALREADY SCANNED"
    bench.post(act="start", cycle="134", implants="on")
    bench.post(act="close", result="pass", lowest="134,1", highest="", minutes="x")
    assert "highest temperature: not entered; holding time: a number, not “x”" in words_of(
        bench.page
    )
    bench.post(act="close", result="pass", lowest="134,1", highest="135", minutes="2.5")
    assert "deviates (held 2.5 min, at least 3 min wanted" in words_of(bench.page)
    # What was typed stands there still, for the one word that is wanted besides.
    for value in ("134,1", "135", "2.5"):
        assert f'value="{value}"' in bench.page.content.decode()
    bench.post(
        act="close", result="pass", lowest="134,1", highest="135", minutes="2.5", said="chart"
    )
    said = words_of(bench.page)
    assert "Deviates from what was set" in said
    assert "F0 at least 58.50 min 49.88 min" in said
    bench.post(act="release", signed_with=PIN)
    assert "its biological indicator is not read yet" in words_of(bench.page)
    bench.post(act="indicator", result="none")
    bench.post(act="release", signed_with="4072")
    assert "Nothing was changed. Not signed: that is not your PIN or password." in words_of(
        bench.page
    )
    assert Load.objects.get().state == "awaiting release"
    bench.post(act="release", signed_with=PIN)
    packed.refresh_from_db()
    assert packed.stage == "sterile store"
    bench.post(act="withdraw", said="recalled")
    assert Load.objects.get().state == "released"
    bench.post(act="withdraw", said="recalled", signed_with=PIN)
    packed.refresh_from_db()
    assert (packed.stage, Load.objects.get().state) == ("quarantine", "withdrawn")
    signed = SecurityEvent.objects.filter(what="sign", outcome="done").order_by("pk")
    assert list(signed.values_list("who__username", "detail")) == [
        ("sterile", "release load S1-1"),
        ("sterile", "release load S1-1"),
        ("sterile", "withdraw load S1-1"),
    ]


def test_an_incident_is_closed_by_name_on_the_page_of_the_trace(
    bench: Bench, packed: Tray, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    bench.at("bench").scan("S1")
    bench.scan(packed.code)
    load = Load.objects.get()
    incident = Incident.objects.create(
        pack=load.packs.get(), case_ref="C7", opened_at=factories.NOW, at=factories.NOW
    )
    said = words_of(bench.at("load_trace", load.pk).page)
    assert "BASE/1 pack 1, case C7: in theatre 07:00, Mon 1 Mar. open" in said
    assert "BASE/1 was opened for case C7" in words_of(bench.at("handover").page)
    sent = {"incident": incident.pk, "outcome": "surgeon told"}
    bench.at("load_trace", load.pk).post(**sent)
    assert "Not signed" in words_of(bench.page)
    assert 'value="surgeon told"' in bench.page.content.decode()
    path = reverse("load_trace", args=[load.pk])
    assert client_of(manager).post(path, sent | {"signed_with": PIN}).status_code == 403
    bench.post(**sent, signed_with=PIN)
    assert "Closed 07:00, Mon 1 Mar by Sterile: surgeon told" in words_of(bench.page)
    assert "BASE/1 was opened" not in words_of(bench.at("handover").page)


def test_bad_values_are_all_named_at_once(bench: Bench, packed: Tray) -> None:
    bench.at("bench").scan("S1")
    bench.scan(packed.code)
    bench.post(act="start", cycle="134")
    bench.post(act="close", result="pass", lowest="hot", highest="-1", minutes="3")
    assert (
        "Nothing was changed. lowest temperature: a number, not “hot”; highest temperature: more "
        "than 0 and less than 1000"
    ) in words_of(bench.page)
    assert Load.objects.get().state == "running"


def test_the_read_only_look_and_may_do_nothing(
    bench: Bench, packed: Tray, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    bench.at("bench").scan("S1")
    reader = client_of(manager)
    path = reverse("load", args=[Load.objects.get().pk])
    assert reader.get(path).status_code == 200
    assert reader.post(path, {"text": packed.code}).status_code == 403
    assert reader.post(path, {"act": "start"}).status_code == 403
    assert reader.get(reverse("loads")).status_code == 200


def test_from_a_load_that_is_over_the_next_station_is_scanned(bench: Bench, packed: Tray) -> None:
    bench.at("bench").scan("S1")
    bench.scan(packed.code)
    bench.post(act="start", cycle="134")
    assert "data-scan-field" not in bench.page.content.decode()
    bench.post(act="close", result="fail")
    assert "Next: a station or a machine" in words_of(bench.page)
    assert bench.scan(packed.code)[0] == "STOP"
    bench.scan("http://testserver/bench/assembly/")
    assert bench.path == "/bench/assembly/"


def test_another_sites_load_is_not_there(
    bench: Bench, stranger: Person, client_of: Callable[[Person], Client]
) -> None:
    bench.at("bench").scan("S1")
    path = reverse("load", args=[Load.objects.get().pk])
    assert client_of(stranger).get(path).status_code == 404


def test_the_prints_and_the_trace_of_a_load(bench: Bench, packed: Tray) -> None:
    bench.at("bench").scan("S1")
    bench.scan(packed.code)
    load = Load.objects.get()
    for name, pk in (
        ("label_pdf", packed.pk),
        ("count_sheet_pdf", packed.pk),
        ("load_pdf", load.pk),
        ("retrieval_pdf", load.pk),
    ):
        answer = bench.client.get(reverse(name, args=[pk]))
        assert answer.content.startswith(b"%PDF"), name
    assert bench.client.get(reverse("handover_pdf")).content.startswith(b"%PDF")
    said = words_of(bench.at("load_trace", load.pk).page)
    assert "1 pack. The load is open." in said
    assert packed.code in said


def test_what_was_never_packed_has_no_label(bench: Bench, tray: Tray) -> None:
    assert bench.client.get(reverse("label_pdf", args=[tray.pk])).status_code == 404


def test_the_load_list_has_what_was_measured_and_who_withdrew_it_why(
    bench: Bench, packed: Tray
) -> None:
    bench.at("bench").scan("S1")
    bench.scan(packed.code)
    bench.post(act="start", cycle="134")
    bench.post(
        act="close", result="pass", lowest="134,1", highest="135", minutes="2.5", said="chart"
    )
    bench.post(act="release", signed_with=PIN)
    bench.post(act="withdraw", said="door seal torn", signed_with=PIN)
    file = bench.client.get(reverse("load_pdf", args=[Load.objects.get().pk])).content
    said = " ".join(pypdfium2.PdfDocument(file)[0].get_textpage().get_text_range().split())
    for part in (
        "Holding phase 134.1 to 135.0 °C, 2.5 min",
        "Deviation held 2.5 min, at least 3 min wanted",
        "Released Mon 1 March 2027, 07:00",
        "Withdrawn Mon 1 March 2027, 07:00",
        "Said chart; door seal torn",
    ):
        assert part in said, said
