"""Reading study.toml: what it says, and every mistake that somebody can make in it."""

from __future__ import annotations

import datetime
import math
import tomllib
from typing import Any

import jsonschema
import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from evenglide.errors import Problem, StudyError
from evenglide.study.document import read_study, study_schema
from evenglide.study.study import Surface
from tests.study.made_up import DOCUMENT, changed


def problems(content: str | bytes) -> tuple[Problem, ...]:
    with pytest.raises(StudyError) as caught:
        read_study(content)
    return caught.value.problems


def told(content: str | bytes) -> list[tuple[str, str]]:
    """Codes and places of the problems of a document."""
    return [(problem.code, problem.where) for problem in problems(content)]


def test_everything_is_read() -> None:
    study = read_study(DOCUMENT)
    assert study.margin == (-math.log1p(0.1), math.log1p(0.1))
    assert [treatment.name for treatment in study.treatments] == ["bare", "paraffin rub"]
    assert (study.treatments[1].hands_on_s, study.treatments[1].waiting_s) == (1080.0, 900.0)
    assert [item.mass_kg for item in study.items] == [1.9, None]
    assert study.surfaces[1] == Surface(
        name="melt pan", mark="timed mark", after_s=5.0, not_after=("wet spring snow",)
    )
    assert study.costs.rig_set_up_s == 720.0
    assert (study.scatter.preparations, study.scatter.launches, study.scatter.source) == (
        0.03,
        0.06,
        "stated",
    )
    assert study.own == {"cup": {"holder": "nobody yet", "year": 2026}}
    assert (study.paid_by, study.item_word, study.hidden_from) == ("the club", "slider", ("reader",))


def test_the_reference_comes_first_wherever_it_stands() -> None:
    text = changed(
        ('name = "bare"\nreference = true', 'name = "rubbed twice"'),
        ("removable = true", "reference = true"),
    )
    assert [one.name for one in read_study(text).treatments] == ["paraffin rub", "rubbed twice"]


def test_one_item_is_launched_in_sequence() -> None:
    text = changed(('[[item]]\nname = "slider 2"\nmass = "unknown"\n', ""))
    assert read_study(text).design.layout == "in sequence"


def test_bytes_with_a_mark_and_windows_lines_are_the_same_study() -> None:
    raw = b"\xef\xbb\xbf" + DOCUMENT.replace("\n", "\r\n").encode()
    assert read_study(raw) == read_study(DOCUMENT)


def test_days_and_hours_may_be_bare() -> None:
    text = changed(('"2026-01-17", from = "08:30"', "2026-01-17, from = 08:30:00"))
    assert read_study(text) == read_study(DOCUMENT)


def test_margins_of_surfaces_are_brought_to_the_unit_of_the_study() -> None:
    text = changed(
        ('matters = "10 %"', 'matters = "0,25 m"'),
        ('after = "5 s"', 'after = "5 s"\nmatters = "30 cm"'),
        ('preparations = "3 %"\nlaunches = "6 %"', 'preparations = "10 cm"'),
    )
    study = read_study(text)
    assert (study.scale, study.unit, study.margin) == ("difference", "m", (-0.25, 0.25))
    assert study.surfaces[1].margin == (-0.3, 0.3)
    assert study.scatter.preparations == 0.1


def test_a_bare_number_will_do_where_only_numbers_are_recorded() -> None:
    text = changed(
        ('matters = "10 %"', "matters = 3"),
        ("minutes_per_launch = 3", 'mark = "number"'),
        ('mark = "timed mark"\nafter = "5 s"', 'mark = "number"'),
        ('preparations = "3 %"\nlaunches = "6 %"', 'from = "rig"'),
    )
    study = read_study(text)
    assert (study.scale, study.margin, study.unit) == ("difference", (-3.0, 3.0), None)


def test_what_only_a_plan_asks_for() -> None:
    assert read_study(changed()).expected_voids is None
    text = changed(
        ("[voids]", '[voids]\nexpected = "2,5 %"'),
        ("as_if_from = 6", 'from = "pilot.csv"\ncolumns = { response = "metres", set_aside = "out" }'),
    )
    study = read_study(text)
    assert study.expected_voids == 0.025
    assert study.scatter.columns == {"response": "metres", "set_aside": "out"}


# ------------------------------------------------------------------------------ one mistake each

BAD = [
    ("unknown key", [("level = 0.05", "levle = 0.05")], [("unknown-key", "study.levle")]),
    ("unknown table", [("[looks]", "[loks]")], [("unknown-key", "loks")]),
    ("unknown key in a list", [('mark = "timed mark"', 'mrk = "timed mark"')],
     [("unknown-key", "surface[1].mrk"), ("mark-time-unused", "surface[1].after")]),
    ("no reference", [("reference = true", "reference = false")], [("no-reference", "treatment")]),
    ("two references", [("removable = true", "reference = true")],
     [("two-references", "treatment[1].reference")]),
    ("one treatment", [('[[treatment]]\nname = "paraffin rub"\nhands_on = "18 min"\nwaiting = "15 min"\n'
                        "removable = true\n", "")], [("too-few", "treatment")]),
    ("same treatment", [('name = "paraffin rub"', 'name = "Bare"')], [("same-name", "treatment[1].name")]),
    ("same item", [('name = "slider 2"', 'name = "slider  1"')], [("same-name", "item[1].name")]),
    ("same surface", [('name = "melt pan"', 'name = "wet spring snow"'),
                      ('not_after = ["wet spring snow"]', ""), ('snow", "melt pan"]', 'snow"]')],
     [("same-name", "surface[1].name")]),
    ("margin nought", [('"10 %"', '"0 %"')], [("bad-margin", "study.matters")]),
    ("margin below nought", [('"10 %"', '"-5 %"')], [("bad-margin", "study.matters")]),
    ("margin no number", [('"10 %"', '"much"')], [("bad-margin", "study.matters")]),
    ("margin above 100 %", [('"10 %"', '"101 %"')], [("bad-margin", "study.matters")]),
    ("margin without unit", [('"10 %"', "10"), ('preparations = "3 %"\nlaunches = "6 %"', "")],
     [("no-unit", "study.matters")]),
    ("margin in quotes without unit", [('"10 %"', '"10"'), ('preparations = "3 %"\nlaunches = "6 %"', "")],
     [("no-unit", "study.matters")]),
    ("margin in another unit", [('"10 %"', '"3 kg"\nunit = "m"'),
                                ('preparations = "3 %"\nlaunches = "6 %"', "")],
     [("another-unit", "study.matters")]),
    ("surface margin of another kind", [('after = "5 s"', 'after = "5 s"\nmatters = "0.3 m"')],
     [("another-kind", "surface[1].matters")]),
    ("scatter of another kind", [('launches = "6 %"', 'launches = "0.1 m"')],
     [("another-kind", "scatter.launches")]),
    ("scale against margin", [('"10 %"', '"10 %"\nscale = "difference"'),
                              ('preparations = "3 %"\nlaunches = "6 %"', "")],
     [("another-kind", "study.matters")]),
    ("share as a number", [("[voids]", "[voids]\nexpected = 0.05")], [("bad-share", "voids.expected")]),
    ("share beyond use", [("[voids]", '[voids]\nexpected = "95 %"')], [("bad-share", "voids.expected")]),
    ("scatter nought", [('launches = "6 %"', 'launches = "0 %"')], [("bad-margin", "scatter.launches")]),
    ("scatter below nought", [('preparations = "3 %"', 'preparations = "-3 %"')],
     [("bad-margin", "scatter.preparations")]),
    ("unknown column of a pilot", [("as_if_from = 6", 'columns = { respnse = "m" }')],
     [("unknown-key", "scatter.columns.respnse")]),
    ("level nought", [("0.05", "0.0")], [("bad-level", "study.level")]),
    ("level a half", [("0.05", "0.5")], [("bad-level", "study.level")]),
    ("level in words", [("0.05", '"5 %"')], [("bad-level", "study.level")]),
    ("level true", [("0.05", "true")], [("bad-level", "study.level")]),
    ("level nan", [("0.05", "nan")], [("bad-level", "study.level")]),
    ("timed mark without time", [('after = "5 s"\n', "")], [("no-mark-time", "surface[1].after")]),
    ("timed mark at nought", [('after = "5 s"', 'after = "0 s"')], [("bad-quantity", "surface[1].after")]),
    ("time without timed mark", [('mark = "timed mark"\n', "")], [("mark-time-unused", "surface[1].after")]),
    ("not-after circle", [("minutes_per_launch = 3", 'not_after = ["melt pan"]')],
     [("not-after-circle", "surface[0].not_after")]),
    ("not after itself", [("minutes_per_launch = 3", 'not_after = ["wet spring snow"]')],
     [("not-after-circle", "surface[0].not_after")]),
    ("unknown not-after", [('not_after = ["wet spring snow"]', 'not_after = ["wet snow"]')],
     [("unknown-surface", "surface[1].not_after[0]")]),
    ("unknown main", [('main = "wet spring snow"', 'main = "wet snow"')],
     [("unknown-surface", "study.main")]),
    ("unknown surface of an outing", [('snow", "melt pan"]', 'snow", "pan"]')],
     [("unknown-surface", "costs.outings[0].surfaces[1]")]),
    ("no title", [("title = \"Does a paraffin rub make the club's snow sliders run farther?\"\n", "")],
     [("missing-key", "study.title")]),
    ("blank name", [('name = "melt pan"', 'name = " "'), ('snow", "melt pan"]', 'snow"]')],
     [("bad-name", "surface[1].name")]),
    ("name on two lines", [('name = "slider 2"', 'name = "slider\\n2"')], [("bad-name", "item[1].name")]),
    ("name a number", [('name = "slider 2"', "name = 2")], [("bad-type", "item[1].name")]),
    ("no name", [('name = "slider 2"\n', "")], [("missing-key", "item[1].name")]),
    ("mass without unit", [('"1.9 kg"', "1.9")], [("bad-quantity", "item[0].mass")]),
    ("mass in minutes", [('"1.9 kg"', '"1.9 min"')], [("bad-quantity", "item[0].mass")]),
    ("mass in two ways", [('"1.9 kg"', '"1,900 g"')], [("bad-quantity", "item[0].mass")]),
    ("unknown mark", [('"timed mark"', '"stopwatch"')], [("bad-choice", "surface[1].mark")]),
    ("three directions", [('["out"]', '["out", "back", "across"]')], [("out-of-range", "design.directions")]),
    ("no direction", [('["out"]', "[]")], [("out-of-range", "design.directions")]),
    ("same directions", [('["out"]', '["out", "Out"]')], [("same-name", "design.directions")]),
    ("balanced in parallel", [('blocks = "pairs"', 'order = "balanced"')],
     [("balanced-order", "design.order")]),
    ("three items in parallel", [('mass = "unknown"', 'mass = "unknown"\n[[item]]\nname = "slider 3"')],
     [("items-against-layout", "item")]),
    ("half a launch", [("minutes_per_launch = 3", "minutes_per_launch = 0")],
     [("out-of-range", "surface[0].minutes_per_launch")]),
    ("looks in words", [("number = 1", 'number = "one"')], [("bad-type", "looks.number")]),
    ("looks that end too soon", [("number = 1", 'at = ["1/3", "2/3"]')],
     [("looks-not-at-end", "looks.at[1]")]),
    ("looks that fall", [("number = 1", 'at = ["2/3", "1/3", "1"]')],
     [("looks-not-rising", "looks.at[1]")]),
    ("a look twice", [("number = 1", 'at = ["50 %", 0.5, 1]')], [("looks-not-rising", "looks.at[1]")]),
    ("looks against their number", [("number = 1", 'number = 3\nat = ["1/2", 1]')],
     [("looks-against-number", "looks.number")]),
    ("a look beyond the end", [("number = 1", 'at = ["1/2", "3/2"]')], [("bad-share", "looks.at[1]")]),
    ("a look at no part", [("number = 1", 'at = ["half", 1]')], [("bad-share", "looks.at[0]")]),
    ("a look at a part of nothing", [("number = 1", 'at = ["1/0", true]')],
     [("bad-share", "looks.at[0]"), ("bad-share", "looks.at[1]")]),
    ("no look at all", [("number = 1", "at = []")], [("out-of-range", "looks.at")]),
    ("a table where a list belongs", [("[looks]\nnumber = 1\n", "[[looks]]\nnumber = 1\n")],
     [("bad-type", "looks")]),
    ("impossible day", [("2026-01-17", "2026-02-30")], [("bad-day", "costs.outings[0].day")]),
    ("impossible hour", [("08:30", "25:30")], [("bad-hour", "costs.outings[0].from")]),
    ("over before it starts", [("12:30", "08:00")], [("bad-hour", "costs.outings[0].to")]),
    ("rig of another kind", [('"springs"', '"cannon"')], [("bad-choice", "rig.kind")]),
    ("no format", [('format = "evenglide.study/1"\n', "")], [("missing-key", "format")]),
    ("newer format", [("study/1", "study/2"), ("level", "lvl")], [("newer-format", "format")]),
    ("another format", [("evenglide.study/1", "evenglide.answer/1")], [("unknown-format", "format")]),
    ("format a number", [('"evenglide.study/1"', "1")], [("unknown-format", "format")]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), [pytest.param(*case[1:], id=case[0]) for case in BAD])
def test_a_mistake_is_told_once_and_nothing_else(
    changes: list[tuple[str, str]], expected: list[tuple[str, str]]
) -> None:
    assert told(changed(*changes)) == expected


def test_half_way_checks_are_parts_of_the_whole() -> None:
    study = read_study(changed(("number = 1", 'at = ["1/3", "50 %", 0.75, 1]')))
    assert study.looks == 4
    assert study.looks_at == (1 / 3, 0.5, 0.75, 1.0)
    assert read_study(changed(("number = 1", "number = 3"))).looks_at == ()


def test_unknown_keys_of_ones_own_are_kept() -> None:
    assert read_study(changed(("year = 2026", "yaer = 2026"))).own == {
        "cup": {"holder": "nobody yet", "yaer": 2026}
    }


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ([("level = 0.05", "levle = 0.05")], 'Did you mean "level"?'),
        ([("[looks]", "[loks]")], 'Did you mean "looks"?'),
        ([('main = "wet spring snow"', 'main = "wet snow"')], 'Did you mean "wet spring snow"?'),
        ([("level = 0.05", "zzz = 0.05")], "Take it out, or keep it in the table [x]."),
    ],
)
def test_the_nearest_name_is_suggested(changes: list[tuple[str, str]], expected: str) -> None:
    assert problems(changed(*changes))[0].remedy == expected


def test_all_problems_come_at_once(snapshot: SnapshotAssertion) -> None:
    text = changed(
        ('title = "Does a paraffin rub make the club\'s snow sliders run farther?"\n', ""),
        ('matters = "10 %"', "matters = 10"),
        ("level = 0.05", "level = 0.7"),
        ('main = "wet spring snow"', 'main = "ice"'),
        ("reference = true", "refrence = true"),
        ('mass = "1.9 kg"', 'mass = "1.9 m"'),
        ('after = "5 s"\n', ""),
        ("minutes_per_launch = 3", 'not_after = ["melt pan"]'),
        ('kind = "springs"', 'kind = "cannon"'),
    )
    assert "\n".join(map(str, problems(text))) == snapshot


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ('format = "evenglide.study/1"\n[study\ntitle = 3', "study.toml, line 2, column 7"),
        ('format = "evenglide.study/1', "study.toml, line 1, column 28"),
        ("a = 1\n\na = 2\n", "study.toml, line 3, column 6"),
        ("a = 1\r\nb = \r\n", "study.toml, line 2, column 5"),
        ("day = 2026-02-30", "study.toml, line 1, column 7"),
    ],
)
def test_syntax_errors_have_line_and_column(text: str, where: str) -> None:
    assert told(text) == [("bad-syntax", where)]


def test_another_encoding_is_refused_with_its_place() -> None:
    raw = DOCUMENT.replace('the club"', 'Körner"').encode("latin-1")
    line = DOCUMENT[: DOCUMENT.index("paid_by")].count("\n") + 1
    (problem,) = problems(raw)
    assert (problem.code, problem.where, problem.found) == (
        "not-decodable", f"study.toml, line {line}, byte {len('paid_by = _K') + 1}", "a byte 0xf6"
    )  # fmt: skip
    assert told(DOCUMENT.encode("utf-16"))[0][0] == "not-decodable"


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(raw: bytes) -> None:
    assert problems(raw)


@given(
    st.sampled_from(DOCUMENT.splitlines()), st.sampled_from(["", "x = 1", "[[item]]", "[study]", "name = 3"])
)
def test_no_line_exchanged_breaks_the_reader(line: str, other: str) -> None:
    try:
        read_study(DOCUMENT.replace(line, other))
    except StudyError as error:
        assert all(problem.where and problem.found and problem.remedy for problem in error.problems)


# ---------------------------------------------------------------------------------------- schema


def test_the_schema_takes_what_the_reader_takes() -> None:
    jsonschema.Draft202012Validator.check_schema(study_schema())
    validator = jsonschema.Draft202012Validator(study_schema())
    assert list(validator.iter_errors(tomllib.loads(DOCUMENT))) == []


@pytest.mark.parametrize(
    "changes",
    [
        [("level = 0.05", "levle = 0.05")],
        [("level = 0.05", "level = 0.5")],
        [("study/1", "study/2")],
        [('"timed mark"', '"stopwatch"')],
        [('name = "slider 2"\n', "")],
        [('mass = "1.9 kg"', "mass = 1.9")],
        [("[looks]", "[loks]")],
    ],
)
def test_the_schema_refuses_what_it_can(changes: list[tuple[str, str]]) -> None:
    validator = jsonschema.Draft202012Validator(study_schema())
    assert list(validator.iter_errors(tomllib.loads(changed(*changes))))


def test_the_schema_has_no_null() -> None:
    assert "null" not in str(study_schema())
    assert "None" not in str(study_schema())


# -------------------------------------------------------------------------- anything in any place

Place = tuple[str | int, ...]
ANYTHING = (True, 0, -1, 1.5, "", " ", "x", "5 %", "0.3 m", [], [1], ["a", "a"], {}, {"name": "a"}, [{}],
            [{"name": "a"}, {"name": "a"}], [[]], datetime.date(2026, 1, 17))  # fmt: skip


def places(value: object, here: Place = ()) -> list[Place]:
    """Every place in a document."""
    inside: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        inside = list(value.items())
    elif isinstance(value, list):
        inside = list(enumerate(value))
    return [place for key, below in inside for place in ((*here, key), *places(below, (*here, key)))]


PLACES = [place for place in places(tomllib.loads(DOCUMENT)) if place[0] != "x"]


@given(
    st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(ANYTHING)), min_size=1, max_size=3),
    st.booleans(),
)
def test_anything_in_any_place_is_a_problem_or_a_study(
    puts: list[tuple[Place, object]], taken_out: bool
) -> None:
    document: Any = tomllib.loads(DOCUMENT)
    for (*way, last), value in puts:
        holder = document
        try:
            for key in way:
                holder = holder[key]
            if taken_out:
                del holder[last]
            else:
                holder[last] = value
        except (KeyError, IndexError, TypeError):
            continue  # an earlier one took the place away
    try:
        read_study(tomlkit.dumps(document))
    except StudyError as error:
        found = [(problem.code, problem.where) for problem in error.problems]
        assert len(found) == len(set(found))
        assert all(problem.found and problem.expected and problem.remedy for problem in error.problems)
