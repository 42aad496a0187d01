"""Filled-in lists: what becomes an event, what is doubtful, what a second taking in adds."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

import pytest

from evenglide.errors import TableError
from evenglide.fieldlog.bodies import (
    AtLeast,
    Body,
    Corrected,
    Launched,
    Noted,
    PegLost,
    Read,
    SetAside,
    Stopped,
)
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from evenglide.intake.delimited import read_delimited
from evenglide.intake.list_template import list_template
from evenglide.intake.lists import TakenList, take_in_list
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, drafts, schedule, sealed, study

PLAN = schedule(blocks=2, launches=2)
FINGERPRINT = "5f" * 32
Cells = Mapping[str, str]


def filled(rows: Mapping[int, Cells], *, text: str = STUDY_TEXT, separator: str = ",") -> str:
    """The template with some cells filled in, by launch."""
    table = list(csv.DictReader(io.StringIO(list_template(study(text), PLAN))))
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(table[0]), delimiter=separator, lineterminator="\n")
    writer.writeheader()
    writer.writerows({**row, **rows.get(int(row["launch"]), {})} for row in table)
    return out.getvalue()


class Book:
    """A log that lists are taken into, one after the other."""

    def __init__(self, *bodies: Body) -> None:
        self._drafts: list[Draft] = [*drafts([sealed(PLAN)], device="laptop"), *drafts(bodies)]

    @property
    def events(self) -> tuple[Event, ...]:
        return chain(self._drafts)

    @property
    def state(self) -> State:
        return replay(self.events)

    def take(self, text: str, *, keep_doubtful: bool = False, decimal: str | None = None) -> TakenList:
        taken = take_in_list(
            read_delimited(text.encode()),
            study=study(),
            schedule=PLAN,
            state=self.state,
            fingerprint=FINGERPRINT,
            decimal=decimal,
            keep_doubtful=keep_doubtful,
        )
        known = {draft.id for draft in self._drafts}
        for identity, body in taken.records:
            assert identity not in known
            number = 2 + len([draft for draft in self._drafts if draft.device == "laptop"])
            self._drafts.append(
                Draft(id=identity, device="laptop", sequence=number - 1, device_time="", body=body)
            )
        return taken

    def value(self, launch: int) -> float | None:
        reading = self.state.launches[launch].reading
        return None if reading is None else reading.value


def bodies(taken: TakenList) -> list[Body]:
    return [body for _, body in taken.records]


def problems(text: str, *, decimal: str | None = None) -> list[tuple[str, str]]:
    with pytest.raises(TableError) as caught:
        Book().take(text, decimal=decimal)
    assert all(one.found and one.expected and one.remedy for one in caught.value.problems)
    assert not [one for one in caught.value.problems if "--void" in one.remedy or "--matters" in one.remedy]
    return [(one.code, one.where) for one in caught.value.problems]


def test_each_column_becomes_its_event() -> None:
    taken = Book().take(
        filled(
            {
                1: {"distance": "5.90", "reader": "Bo"},
                2: {"distance": "7.8", "at least": "yes"},
                3: {"set aside": CAUSE, "value seen": "no", "note": "deep"},
                4: {"stopped": "x", "distance": "4.2"},
                5: {"peg lost": "1"},
                6: {"distance": "6", "order made": "7.5"},
                7: {"distance": "6.3", "set aside": "no", "at least": "0"},
            }
        )
    )
    assert bodies(taken) == [
        Read(launch=1, text="5.90", value=5.9, reader="Bo"),
        AtLeast(launch=2),
        Read(launch=2, text="7.8", value=7.8),
        SetAside(launch=3, cause=CAUSE, value_seen=False),
        Noted(launch=3, words="deep"),
        Stopped(launch=4),
        Read(launch=4, text="4.2", value=4.2),
        PegLost(launch=5),
        Launched(launch=6, order=7.5),
        Read(launch=6, text="6", value=6.0),
        Read(launch=7, text="6.3", value=6.3),
    ]
    assert (taken.filled, taken.readings, taken.corrections) == (7, 5, 0)


def test_the_same_list_again_adds_nothing() -> None:
    book = Book()
    text = filled(
        {
            1: {"distance": "5.9"},
            2: {"set aside": CAUSE, "note": "deep"},
            3: {"distance": "6", "at least": "x"},
        }
    )
    assert book.take(text).records
    assert book.take(text).records == ()


def test_a_list_that_grows_adds_what_is_new() -> None:
    book = Book()
    book.take(filled({1: {"distance": "5.9"}}))
    assert bodies(book.take(filled({1: {"distance": "5.9"}, 2: {"distance": "6.1"}}))) == [
        Read(launch=2, text="6.1", value=6.1)
    ]


def test_a_changed_cell_becomes_a_correction_and_back_again() -> None:
    book = Book()
    for number, text in enumerate(["5.9", "6.1", "5.9", "6.1"]):
        taken = book.take(filled({1: {"distance": text}}))
        assert isinstance(bodies(taken)[0], Read if number == 0 else Corrected)
        assert len(taken.records) == 1
        assert book.value(1) == float(text)
        assert book.take(filled({1: {"distance": text}})).records == ()
    assert book.state.facts[1].corrections == 3


def test_the_same_change_has_the_same_id_on_every_machine() -> None:
    first, second = Book(), Book()
    texts = [filled({1: {"distance": "5.9"}}), filled({1: {"distance": "6.1"}})]
    one, other = ([book.take(text).records for text in texts] for book in (first, second))
    assert one == other


def test_another_way_to_write_the_same_number_is_no_change() -> None:
    book = Book()
    book.take(filled({1: {"distance": "5.9"}}))
    assert book.take(filled({1: {"distance": "5.90"}})).records == ()


@pytest.mark.parametrize(
    ("first", "second", "check"),
    [
        ({"set aside": CAUSE}, {"set aside": "touched"}, lambda one: one.set_aside.cause == "touched"),
        ({"set aside": CAUSE}, {"set aside": ""}, lambda one: one.set_aside is None),
        ({"at least": "x"}, {"at least": "no"}, lambda one: not one.at_least),
        ({"at least": ""}, {"at least": "x"}, lambda one: one.at_least),
        ({"stopped": "x"}, {"stopped": ""}, lambda one: not one.stopped),
        ({"note": "deep"}, {"note": "deeper"}, lambda one: one.remarks == ("deeper",)),
        ({"order made": "3"}, {"order made": "4"}, lambda one: one.order == 4),
        (
            {"set aside": CAUSE, "value seen": "no"},
            {"set aside": CAUSE, "value seen": "yes"},
            lambda one: one.set_aside.value_seen is True,
        ),
    ],
)
def test_a_changed_flag_becomes_a_correction(first: Cells, second: Cells, check: object) -> None:
    book = Book()
    for cells in (first, second, first, second):
        book.take(filled({1: {"distance": "5.9", **cells}}))
        assert book.take(filled({1: {"distance": "5.9", **cells}})).records == ()
    assert check(book.state.launches[1])  # type: ignore[operator]


def test_a_blank_row_takes_nothing_back() -> None:
    book = Book()
    book.take(filled({1: {"distance": "5.9"}, 2: {"set aside": CAUSE}}))
    taken = book.take(filled({3: {"distance": "6"}}))
    assert bodies(taken) == [Read(launch=3, text="6", value=6.0)]
    assert taken.kept_blank == (1, 2)


def test_a_blank_reading_in_a_filled_row_takes_nothing_back() -> None:
    book = Book()
    book.take(filled({1: {"distance": "5.9"}}))
    taken = book.take(filled({1: {"note": "deep"}}))
    assert (bodies(taken), taken.kept_blank) == ([Noted(launch=1, words="deep")], (1,))


def test_a_phone_that_says_metres_where_the_study_says_no_unit_says_the_same() -> None:
    launched = [Read(launch=1, text="6.00", value=6.0, unit="m"), Read(launch=1, text="6.00", value=6.0)]
    assert [one.code for one in replay(chain(drafts(launched))).questions] == []
    two_units = [launched[0], Read(launch=1, text="6.00", value=6.0, unit="ft")]
    assert [one.code for one in replay(chain(drafts(two_units))).questions] == ["read-twice"]


def test_a_reading_that_the_phone_has_is_not_taken_in_again() -> None:
    book = Book(Read(launch=1, text="5.9", value=5.9))
    assert book.take(filled({1: {"distance": "5.90"}})).records == ()
    taken = book.take(filled({1: {"distance": "6.1"}}))
    assert bodies(taken) == [Read(launch=1, text="6.1", value=6.1)]
    assert [question.code for question in book.state.questions] == ["read-twice"]


@pytest.mark.parametrize(
    ("cells", "code", "column"),
    [
        ({"distance": "31.4 m"}, "unit-in-cell", "distance"),
        ({"distance": "six"}, "not-a-number", "distance"),
        ({"distance": "nan"}, "not-finite", "distance"),
        ({"distance": "2026-01-17"}, "date-in-cell", "distance"),
        ({"distance": "=A1"}, "not-a-number", "distance"),
        ({"distance": "0"}, "not-positive", "distance"),
        ({"distance": "-3"}, "not-positive", "distance"),
        ({"at least": "yes"}, "no-bound", "at least"),
        ({"distance": "5.9", "at least": "perhaps"}, "doubtful-tick", "at least"),
        ({"distance": "5.9", "stopped": "?"}, "doubtful-tick", "stopped"),
        ({"distance": "5.9", "set aside": "n/a"}, "doubtful-cause", "set aside"),
        ({"distance": "5.9", "order made": "second"}, "not-a-number", "order made"),
        ({"distance": "5.9", "launch": "99"}, "no-such-launch", "launch"),
        ({"distance": "5.9", "launch": "1.5"}, "no-such-launch", "launch"),
        ({"distance": "5.9", "launch": "one"}, "not-a-number", "launch"),
        ({"distance": "5.9", "launch": ""}, "blank-cell", "launch"),
        ({"distance": "5.9", "surface": "melt pan"}, "not-as-planned", "surface"),
        ({"distance": "5.9", "treatment": "bare"}, "not-as-planned", "treatment"),
    ],
)
def test_a_doubtful_cell_is_named_with_its_address(cells: Cells, code: str, column: str) -> None:
    rows = {1: cells, 2: {"distance": "6"}}
    found = problems(filled(rows))
    assert [one for one, _ in found] == [code]
    assert f"({column}, line 2)" in found[0][1]


@pytest.mark.parametrize(
    "cells", [{"distance": "-3", "set aside": CAUSE}, {"distance": "5.9", "surface": ""}]
)
def test_the_nearest_cells_are_not_doubtful(cells: Cells) -> None:
    assert Book().take(filled({1: cells})).doubts == ()


def test_all_doubtful_cells_come_at_once_and_nothing_is_taken_in() -> None:
    rows = {1: {"distance": "?"}, 2: {"distance": "6"}, 3: {"distance": "7", "at least": "?"}}
    assert [code for code, _ in problems(filled(rows))] == ["not-a-number", "doubtful-tick"]


def test_decimal_commas_as_in_tables() -> None:
    comma = filled({1: {"distance": "5,9"}, 2: {"distance": "6,234"}}, separator=";")
    assert [body.to_dict()["value"] for body in bodies(Book().take(comma))] == [5.9, 6.234]
    doubtful = filled({1: {"distance": "6,234"}}, separator=";")
    assert [code for code, _ in problems(doubtful)] == ["doubtful-comma"]
    assert bodies(Book().take(doubtful, decimal=",")) == [Read(launch=1, text="6,234", value=6.234)]


def test_doubtful_cells_are_kept_out_of_the_analysis_until_corrected() -> None:
    book = Book()
    rows = {1: {"distance": "6.l"}, 2: {"distance": "6", "set aside": "n/a"}, 3: {"distance": "7"}}
    taken = book.take(filled(rows), keep_doubtful=True)
    assert bodies(taken) == [
        Read(launch=1, text="6.l", unread=True),
        Read(launch=2, text="6", unread=True),
        Noted(launch=2, words="set aside: n/a"),
        Read(launch=3, text="7", value=7.0),
    ]
    assert [one.code for one in taken.doubts] == ["unit-in-cell", "doubtful-cause"]
    assert [book.value(launch) for launch in (1, 2, 3)] == [None, None, 7.0]
    assert book.take(filled(rows), keep_doubtful=True).records == ()
    mended = {1: {"distance": "6.1"}, 2: {"distance": "6"}, 3: {"distance": "7"}}
    assert book.take(filled(mended)).corrections == 2
    assert [book.value(launch) for launch in (1, 2, 3)] == [6.1, 6.0, 7.0]
    assert book.take(filled(mended)).records == ()


def test_a_row_without_a_launch_is_kept_as_a_remark() -> None:
    book = Book()
    text = "launch,distance,note\n?,6.1,by the fence\n"
    assert bodies(book.take(text, keep_doubtful=True)) == [
        Noted(words="launch: ?; distance: 6.1; note: by the fence")
    ]
    assert book.take(text, keep_doubtful=True).records == ()


@pytest.mark.parametrize(
    ("header", "code"),
    [
        ("launch,distance,set asid", "unknown-column"),
        ("launch,distanc", "unknown-column"),
        ("launch,distance,reading", "column-twice"),
        ("nr,distance", "no-launch-column"),
    ],
)
def test_columns_are_known_by_name_or_refused_whatever_is_asked(header: str, code: str) -> None:
    text = header + "\n" + ",".join("1" for _ in header.split(",")) + "\n"
    for keep in (False, True):
        with pytest.raises(TableError) as caught:
            Book().take(text, keep_doubtful=keep)
        assert [one.code for one in caught.value.problems] == [code]


@pytest.mark.parametrize(
    "header", ["launch,distance,at_least", "Launch, Distance ,AT LEAST", "launch,reading,at least"]
)
def test_names_of_columns_are_known_in_any_case(header: str) -> None:
    assert bodies(Book().take(f"{header}\n1,5.9,yes\n")) == [
        AtLeast(launch=1),
        Read(launch=1, text="5.9", value=5.9),
    ]


def test_columns_of_the_persons_own_are_told() -> None:
    assert Book().take("launch,distance,moon\n1,5.9,full\n").ignored == ("moon",)


def names(template: str) -> Sequence[str]:
    return template.splitlines()[0].split(",")


def test_the_template_hides_what_is_hidden() -> None:
    open_list = names(list_template(study(), PLAN))
    hidden = names(list_template(study(STUDY_TEXT + '\n[blinding]\nhidden_from = ["reader"]\n'), PLAN))
    assert set(open_list) - set(hidden) == {"treatment", "preparation"}
    assert "tag" not in open_list


def test_an_empty_template_takes_in_nothing() -> None:
    taken = Book().take(list_template(study(), PLAN))
    assert (taken.records, taken.doubts, taken.filled) == ((), (), 0)
