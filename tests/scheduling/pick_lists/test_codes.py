from __future__ import annotations

import pytest
import zxingcpp
from PIL import Image, ImageDraw

from scheduling.pick_lists.codes import MODULE_MM, QUIET_ZONE, code_of

LINK = "HTTP://127.0.0.1:8000/01/02000000000015/10/LA1/21/00012"


def test_modules_are_large_enough_for_a_poor_print():
    # 0.4 mm: read 40 of 40 times at 150 dpi, blurred, noisy and skewed too; 0.2 mm never.
    assert MODULE_MM >= 0.4
    code = code_of(LINK)
    assert code.modules == len(code.rows) + 2 * QUIET_ZONE
    assert code.side_mm == pytest.approx(code.modules * MODULE_MM)


def test_runs_cover_exactly_the_dark_modules():
    code = code_of(LINK)
    dark = {(x, y) for left, y, width in code.runs() for x in range(left, left + width)}
    assert dark == {
        (x + QUIET_ZONE, y + QUIET_ZONE)
        for y, row in enumerate(code.rows)
        for x, is_dark in enumerate(row)
        if is_dark
    }


def test_the_path_of_the_screen_is_read_back():
    code = code_of(LINK)
    scale = 4
    image = Image.new("L", (code.modules * scale, code.modules * scale), 255)
    pen = ImageDraw.Draw(image)
    for step in code.svg_path().split("M")[1:]:
        corner, width = step.removesuffix("z").split("h")[0], step.split("h")[1].split("v")[0]
        x, y = (int(part) for part in corner.split())
        pen.rectangle(
            (x * scale, y * scale, (x + int(width)) * scale - 1, (y + 1) * scale - 1), fill=0
        )
    (read,) = zxingcpp.read_barcodes(image)
    assert read.text == LINK
    assert read.ec_level == "M"


def test_a_capital_address_makes_a_smaller_code():
    small = code_of("HTTPS://MUSTER.OTTERMERE.EXAMPLE/8004/029999900001")
    large = code_of("https://muster.ottermere.example/8004/029999900001")
    assert small.modules < large.modules


def test_an_empty_text_has_no_code():
    with pytest.raises(ValueError, match="a code needs a text"):
        code_of("")
