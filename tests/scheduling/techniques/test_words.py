from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deploy.kit.attributes import ATTRIBUTES
from scheduling.coverage.values import FromPlan, Ladder, OneOf, Times
from scheduling.techniques.words import (
    WordsNotUnderstood,
    read_condition,
    read_options,
    read_selection,
    read_terms,
    say_condition,
    say_options,
    say_selection,
    say_terms,
)

SELECTION = """\
ref: head.ref
system: stem.system
size: from 9 to stem.size, 1 below, 2 above
offset: stem.offset
diameter: 28, 32.5
length: at stem.length, 1 above
neck length: to 7
inner diameter: fact liner_inner_diameter
material: "ceramic", "metal"
distal diameter: every rung
seat offset: from −3.5"""


def test_a_selection_in_words():
    assert read_selection(SELECTION) == {
        "system": FromPlan("stem.system"),
        "size": Ladder(9, FromPlan("stem.size"), below=1, above=2),
        "length": Ladder(FromPlan("stem.length"), FromPlan("stem.length"), above=1),
        "offset": FromPlan("stem.offset"),
        "inner_diameter": FromPlan("liner_inner_diameter"),
        "material": OneOf(("ceramic", "metal")),
        "diameter": OneOf((28, Decimal("32.5"))),
        "neck_length": Ladder(None, 7),
        "distal_diameter": Ladder(),
        "seat_offset": Ladder(Decimal("-3.5"), None),
        "ref": FromPlan("head.ref"),
    }


def test_a_selection_is_said_as_it_is_written():
    assert say_selection(read_selection(SELECTION)) == SELECTION.replace("−", "-")


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("size", ["line 1: write an attribute, a colon and what it must be: size: stem.size"]),
        (
            "offset: high",
            [
                'line 1: “high” is not understood: write "high" for a text, fact high for a '
                "fact of the plan, or component.attribute"
            ],
        ),
        (
            "size: at stem.size, two above\n\nsize: 9",
            ["line 1: after a ladder comes “1 below” or “2 above”, not “two above”"],
        ),
        ("size: 9\nsize: 10", ["line 2: the attribute “size” has a line already"]),
        (
            "size: 9, stem.size\nlength",
            [
                "line 1: a list holds values only; write one line for what the plan says",
                "line 2: write an attribute, a colon and what it must be: size: stem.size",
            ],
        ),
        ('material: "\\q"', ['line 1: "\\q": in quotes, write \\\\ for a backslash']),
    ],
)
def test_every_line_that_cannot_be_read_is_named(text, faults):
    with pytest.raises(WordsNotUnderstood) as error:
        read_selection(text)
    assert error.value.faults == faults


def test_a_condition_in_words():
    text = "approach is posterior or lateral\ncup_retained is yes\nstem.size is 9, 10 or 11"
    assert read_condition(text) == {
        "approach": ("posterior", "lateral"),
        "cup_retained": (True,),
        "stem.size": (9, 10, 11),
    }


def test_a_text_that_reads_as_something_else_stands_in_quotes():
    when = {"cup": ("no", "9", "in or out", "well fixed")}
    assert say_condition(when) == 'cup is "no" or "9" or "in or out" or well fixed'
    assert read_condition(say_condition(when)) == when


@pytest.mark.parametrize("text", ["approach posterior", "approach is ", 'approach is "a', "2 is 3"])
def test_a_condition_that_cannot_be_read_is_refused(text):
    with pytest.raises(WordsNotUnderstood, match="line 1: "):
        read_condition(text)


def test_options_in_words():
    assert read_options("STAND\nBASE + ADD\n") == (("STAND",), ("BASE", "ADD"))
    assert say_options((("STAND",), ("BASE", "ADD"))) == "STAND\nBASE + ADD"


def test_an_option_with_nothing_between_two_signs_is_refused():
    with pytest.raises(WordsNotUnderstood, match="line 2: write codes of configurations"):
        read_options("STAND\nBASE + + ADD")


def test_terms_in_words():
    text = "osteotomy_mm + 2 × bone_diameter_mm + -5 + stem.seat_offset"
    terms = (
        FromPlan("osteotomy_mm"),
        Times(2, "bone_diameter_mm"),
        -5,
        FromPlan("stem.seat_offset"),
    )
    assert read_terms(text) == terms
    assert say_terms(terms) == text


@pytest.mark.parametrize("sign", ["×", " × ", "*", " x ", " times "])
def test_a_factor_may_be_written_as_people_write_it(sign):
    assert read_terms(f"2{sign}bone_diameter_mm") == (Times(2, "bone_diameter_mm"),)


def test_all_terms_that_cannot_be_read_are_named():
    with pytest.raises(WordsNotUnderstood) as error:
        read_terms("2 bone + stem,length + 3")
    assert len(error.value.faults) == 2


# -- whatever is said is read back as it was --------------------------------------------------

# A small alphabet of what could be misread finds more than all of Unicode would.
texts = st.text('ab1 ."\\,:+×-−_or\n\u2028é', min_size=1) | st.sampled_from(
    ["yes", "no", "9", "a or b", "or", "from x", " to ", "x is y", "A + B", "fact a"]
)
numbers = st.integers() | st.decimals(allow_nan=False, allow_infinity=False, places=3)
values = texts | numbers
names = st.from_regex(r"[a-z][a-z_-]{0,8}", fullmatch=True)
paths = (
    names
    | st.builds("{}.{}".format, names, names)
    | st.builds("{} {}.{}".format, names, names, names)
    | st.sampled_from(["to x.size", "from.size", "a to b.size", "a is b.size", "every rung.size"])
    | texts
)
ends = st.none() | values | st.builds(FromPlan, paths)
ladders = st.builds(Ladder, ends, ends, st.integers(0, 9), st.integers(0, 9))
choices = (
    st.builds(OneOf, st.lists(values, min_size=1, max_size=3).map(tuple))
    | st.builds(FromPlan, paths)
    | ladders
)


@given(st.dictionaries(st.sampled_from([*ATTRIBUTES, "ref"]), choices))
def test_selections_survive(select):
    assert read_selection(say_selection(select)) == select


@given(
    st.dictionaries(
        paths, st.lists(values | st.booleans(), min_size=1, max_size=3).map(tuple), max_size=3
    )
)
def test_conditions_survive(when):
    read = read_condition(say_condition(when))
    assert read == when
    assert repr(read).count("True") == repr(when).count("True")  # True == 1, yes is not 1


@given(st.lists(st.lists(texts, min_size=1, max_size=3).map(tuple), max_size=3).map(tuple))
def test_options_survive(options):
    assert read_options(say_options(options)) == options


@given(
    st.lists(
        numbers | st.builds(FromPlan, paths) | st.builds(Times, numbers, paths),
        min_size=1,
        max_size=4,
    ).map(tuple)
)
def test_terms_survive(terms):
    assert read_terms(say_terms(terms)) == terms
