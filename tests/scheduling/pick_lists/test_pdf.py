"""The paper: every code on every page is read back by an independent reader, the type is large."""

from __future__ import annotations

from collections import Counter
from datetime import date
from functools import cache

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter
from pypdfium2 import raw

from implants.udi import read_scan
from scheduling import cautions
from scheduling.coverage.report import Verdict
from scheduling.pick_lists import words
from scheduling.pick_lists.codes import code_of
from scheduling.pick_lists.links import HouseCode, ListCode, own_code
from scheduling.pick_lists.paper import Paper
from scheduling.pick_lists.pdf import pick_list_pdf
from scheduling.pick_lists.values import Content, Kind, Line
from tests.scheduling.pick_lists.samples import (
    ABSENT,
    box,
    content,
    demonstration,
    demonstration_day,
    demonstration_list,
    printing,
    section,
    tray,
)

ROWS_A_PAGE = 22
TODAY = date(2027, 3, 1)


def everything() -> Content:
    """One list with whatever the print can hold, longest values first."""
    return content(
        section(
            "C-1",
            verdict=Verdict.NOT_COVERED,
            trays=(
                tray(note="Only after case C-0 and a turnaround"),
                tray("T" * 64, words="W" * 99),
            ),
            boxes=(
                box("U1", words="Ø 52 mm, inner Ø 36 mm, group E, polyethylene, LEFT", lot=""),
                box("U2", words="neck −3.5 mm", use_by=None, serial="S" * 20),
            ),
            absent=(ABSENT,),
            unsettled=("Open question: not stated: cup_fixation",),
        )
    )


LISTS = {
    "everything": everything(),
    "a long list": demonstration_list("OG-1012"),
    "a day": demonstration_day("Theatre 2", date(2027, 3, 3)),
}


@pytest.fixture(params=list(LISTS))
def name(request) -> str:
    return request.param


@pytest.fixture
def of(name: str) -> Content:
    return LISTS[name]


@pytest.fixture(params=list(Paper))
def paper(request) -> Paper:
    return request.param


@pytest.fixture
def document(name: str, paper: Paper) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(made(name, paper))


@cache
def made(name: str, paper: Paper) -> bytes:
    return pick_list_pdf(printing(LISTS[name]), paper)


@pytest.mark.parametrize("dpi", [150, 200])
def test_every_code_is_read_back_and_means_the_right_item(document, of, dpi):
    """zxing-cpp, on pages drawn by pdfium; the reader knows nothing of how they were made."""
    read: Counter[str] = Counter()
    for page in document:
        image = page.render(scale=dpi / 72, grayscale=True).to_pil()
        texts = [each.text for each in zxingcpp.read_barcodes(image)]
        lists = [own_code(text) for text in texts if isinstance(own_code(text), ListCode)]
        assert lists == [ListCode("K7QM4F", 2)]  # the head of each page names this very printing
        read.update(text for text in texts if not isinstance(own_code(text), ListCode))
    assert read == Counter(line.link for _, line in of.lines())
    for _, line in of.lines():
        assert meant(line.link) == itself(line)


def test_a_blurred_and_skewed_copy_is_still_read():
    for page in pypdfium2.PdfDocument(made("a long list", Paper.A4)):
        image = page.render(scale=150 / 72, grayscale=True).to_pil()
        texts = {each.text for each in zxingcpp.read_barcodes(image)}
        copy = image.rotate(1.0, fillcolor=255, resample=Image.Resampling.BICUBIC)
        copy = copy.filter(ImageFilter.GaussianBlur(0.7))
        assert {each.text for each in zxingcpp.read_barcodes(copy)} == texts


def meant(link: str) -> tuple[str, ...]:
    """What a reader of the standard, or the house, understands by a link."""
    own = own_code(link)
    if isinstance(own, HouseCode):
        return (own.code,)
    scanned = read_scan(link, today=TODAY)
    return (scanned.gtin, scanned.lot, scanned.serial) if scanned.gtin else (scanned.giai,)


def itself(line: Line) -> tuple[str, ...]:
    scenario, _ = demonstration()
    if line.kind is Kind.TRAY:
        known = sorted(scenario.trays)
        number = known.index(line.code) if line.code in known else 1
        return (f"0299999{number:05}",)
    gtin = scenario.implants[line.item].gtin if line.item in scenario.implants else ""
    return (gtin, line.lot, line.serial) if gtin else (line.code,)


def test_modules_are_at_least_four_tenths_of_a_millimetre(document):
    image = document[0].render(scale=300 / 72, grayscale=True).to_pil()
    codes = zxingcpp.read_barcodes(image)
    assert codes
    for code in codes:
        side = code.position.top_right.x - code.position.top_left.x
        modules = len(code_of(code.text).rows)
        assert side / 300 * 25.4 / modules >= 0.4


def sized_text(page: pypdfium2.PdfPage) -> str:
    """The page's characters of 16 points and more, blanks left out."""
    text = page.get_textpage()
    return "".join(
        chr(raw.FPDFText_GetUnicode(text.raw, i))
        for i in range(text.count_chars())
        if raw.FPDFText_GetFontSize(text.raw, i) >= 16 - 0.01
    ).translate({ord(c): None for c in " \r\n\xa0"})


def test_size_offset_length_and_use_by_are_at_16_points(document, of):
    big = "".join(sized_text(page) for page in document)
    for shown, line in of.lines():
        assert words.big_words(line).replace(" ", "") in big
        assert words.use_by(line)[1].replace(" ", "") in big
        assert shown.verdict.upper().replace(" ", "") in big
    for each in of.sections:
        for absent in each.absent:
            assert absent.what.replace(" ", "") in big


def test_each_page_says_what_it_is(document, of):
    pages = len(document)
    for number, page in enumerate(document, start=1):
        text = " ".join(page.get_textpage().get_text_range().split())
        for said in (
            f"Page {number} of {pages}",
            "Pick list K7QM4F",
            "Version 2",
            "As of Mon 8 March 2027, 16:00",
            "Printed Mon 8 March 2027, 16:05",
            "Ottermere General",
            words.ASK_THE_CODE,
            cautions.LOGISTICS_AID,
            cautions.DECISION_SUPPORT,
        ):
            assert said in text
        shown = [each for each in of.sections if f"Case {each.case} " in text]
        assert any(
            words.capital(words.needed_by(each)) in text and each.verdict.upper() in text
            for each in shown
        )


def test_a_page_has_at_most_22_rows_and_nothing_leaves_it(document):
    for page in document:
        image = page.render(scale=150 / 72, grayscale=True).to_pil()
        assert len(zxingcpp.read_barcodes(image)) - 1 <= ROWS_A_PAGE
        width, height = page.get_size()
        for each in page.get_objects():
            left, bottom, right, top = each.get_bounds()
            assert left >= 25
            assert bottom >= 15
            assert right <= width - 25
            assert top <= height - 25


def test_the_print_is_black_on_white_only(document):
    for page in document:
        image = page.render(scale=1).to_pil().convert("RGB")
        assert all(red == green == blue for _, (red, green, blue) in image.getcolors(100_000))


def test_reasons_and_what_is_unsettled_are_on_the_paper():
    page = pypdfium2.PdfDocument(pick_list_pdf(printing(everything())))[0]
    text = " ".join(page.get_textpage().get_text_range().split())
    for said in (
        "Not to hand",
        "Open question: not stated: cup_fixation",
        "Reamer, Ø 14 mm",
        "1 SHORT",
        "Missing from ADD/2",
        "! Only after case C-0 and a turnaround",
        "LOT not recorded",
        "no date",
    ):
        assert said in text


def test_fonts_are_embedded(document):
    """A printer's own letters might lack the true minus sign of a neck length."""
    kinds = {
        raw.FPDFPageObj_GetType(each.raw)
        for each in document[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])
    }
    assert kinds == {raw.FPDF_PAGEOBJ_TEXT}
    for each in document[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        font = raw.FPDFTextObj_GetFont(each.raw)
        assert raw.FPDFFont_GetIsEmbedded(font) == 1


def test_an_invented_clock_is_said():
    sheet = printing(everything())
    said = pypdfium2.PdfDocument(pick_list_pdf(sheet))[0].get_textpage().get_text_range()
    assert "Not the real time" not in said
    pretended = type(sheet)(
        **{name: getattr(sheet, name) for name in sheet.__slots__ if name != "clock_is_real"},
        clock_is_real=False,
    )
    said = pypdfium2.PdfDocument(pick_list_pdf(pretended))[0].get_textpage().get_text_range()
    assert "Not the real time" in said
