from __future__ import annotations

import pypdfium2
import pytest
from django.core.management import CommandError, call_command

from scheduling.models import CaseStatus, PickListVersion
from tests.scheduling.pick_lists.house import TOMORROW, House, house


@pytest.fixture
def of(site) -> House:
    return house(site)


def test_prints_a_case(of, tmp_path, capsys):
    out = tmp_path / "list.pdf"
    call_command("print_pick_list", case="C1", out=out, paper="letter")
    version = PickListVersion.objects.select_related("pick_list").get()
    assert capsys.readouterr().out == (
        f"{out}: list {version.pick_list.code} version 1, Case C1: 4 to fetch, 0 not to hand\n"
    )
    document = pypdfium2.PdfDocument(out)
    assert document[0].get_size() == (612, 792)
    assert "Case C1" in document[0].get_textpage().get_text_range()


def test_prints_a_day(of, tmp_path):
    out = tmp_path / "list.pdf"
    call_command("print_pick_list", theatre="2", day=TOMORROW.isoformat(), out=out)
    assert PickListVersion.objects.get().content["is_day"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({}, "give --case REF, or --theatre CODE and --day YYYY-MM-DD"),
        ({"theatre": "2"}, "give --case REF, or --theatre CODE and --day YYYY-MM-DD"),
        ({"case": "C1", "theatre": "2", "day": "2027-03-02"}, "give --case REF, or"),
        ({"case": "NOBODY"}, "--case: no case 'NOBODY'"),
        ({"theatre": "9", "day": "2027-03-02"}, "--theatre: no theatre '9'"),
        ({"theatre": "2", "day": "2027-02-30"}, "--day: not a day: '2027-02-30'"),
        ({"theatre": "2", "day": "2027-03-09"}, "There is no case in Theatre 2 on 09 Mar 2027."),
        ({"case": "C1", "site": "nowhere"}, "--site: no site 'nowhere'"),
    ],
)
def test_says_what_is_wrong_and_prints_nothing(of, tmp_path, options, said):
    out = tmp_path / "list.pdf"
    with pytest.raises(CommandError, match=said.replace("(", r"\(")):
        call_command("print_pick_list", out=out, **options)
    assert not out.exists()
    assert not PickListVersion.objects.exists()


def test_refuses_a_case_that_is_over(of, tmp_path):
    of.case.status = CaseStatus.CANCELLED
    of.case.save()
    with pytest.raises(CommandError, match="Case C1 is cancelled"):
        call_command("print_pick_list", case="C1", out=tmp_path / "list.pdf")


def test_a_file_that_cannot_be_written(of, tmp_path):
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("print_pick_list", case="C1", out=tmp_path / "no-such-folder" / "list.pdf")


def test_several_sites_need_a_name(of, stranger, tmp_path):
    with pytest.raises(CommandError, match="several sites"):
        call_command("print_pick_list", case="C1", out=tmp_path / "list.pdf")
    call_command("print_pick_list", case="C1", site="ottermere", out=tmp_path / "list.pdf")


@pytest.mark.django_db
def test_a_database_without_a_site(tmp_path):
    with pytest.raises(CommandError, match="no site yet"):
        call_command("print_pick_list", case="C1", out=tmp_path / "list.pdf")
