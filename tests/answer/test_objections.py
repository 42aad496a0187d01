"""Each likely objection: what the data must hold to answer it, and the nearest case that does not."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.answer.conduct import places_and_skies
from evenglide.answer.results import Objection
from evenglide.answer.study import answer_study
from evenglide.fieldlog.bodies import (
    Body,
    Guess,
    Launched,
    Prepared,
    Read,
    ReturnToBare,
    Session,
    SetAside,
    WearCheck,
)
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import Cause
from evenglide.report.carried_out import conditions_words
from evenglide.show.objections import OBJECTIONS
from evenglide.study.schedule import Schedule
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, drafts, log_of, played, readings, schedule, study
from tests.house.tree import ROOT

PLAN = schedule(blocks=6, launches=2)
FEW = schedule(blocks=4, launches=2)
LAST = PLAN.launches[-1].number
HIDDEN = STUDY_TEXT + '\n[blinding]\nhidden_from = ["reader"]\n'
PAID = STUDY_TEXT.replace('gear = "slider"', 'gear = "slider"\npaid_by = "the maker of the rub"')
COATS = list(dict.fromkeys(one.preparation for one in PLAN.launches))
RUBBED = [
    label
    for label in COATS
    if next(one.treatment for one in PLAN.launches if one.preparation == label) != "bare"
]


def replies(*more: Body, plan: Schedule = PLAN, text: str = STUDY_TEXT) -> dict[str, Objection]:
    """What is replied to each objection where everything went as planned, and more was recorded."""
    log = log_of(plan, [*played(plan), *more], text=text)
    answer = answer_study(study(text), plan, log).answer
    assert answer.conduct is not None
    assert [one.code for one in answer.conduct.objections] == list(OBJECTIONS)
    return {one.code: one for one in answer.conduct.objections}


def one_item_each(plan: Schedule) -> Schedule:
    """The same list with a slider of its own for each treatment."""
    launches = [
        replace(one, item="slider 1" if one.treatment == "bare" else "slider 2") for one in plan.launches
    ]
    return replace(plan, launches=tuple(launches))


def one_launch_each(plan: Schedule) -> Schedule:
    """One launch of each preparation, on the first surface alone."""
    first: dict[str, int] = {}
    for one in plan.launches:
        first.setdefault(one.preparation, one.number)
    kept = [one for one in plan.launches if first[one.preparation] == one.number]
    return replace(plan, launches=tuple(replace(one, number=n) for n, one in enumerate(kept, start=1)))


def read_as(body_of: type[WearCheck] | type[ReturnToBare], *numbers: int) -> list[Body]:
    """Some launches of the plan recorded as made for another purpose."""
    coat = {one.number: one.preparation for one in PLAN.launches}
    return [body_of(preparation=coat[number], launch=number) for number in numbers]


def tins(*batches: str) -> list[Body]:
    """Every rubbed coat from one of these tins, in turn; bare has a solvent, which is no tin."""
    from_tins = [
        Prepared(preparation=label, batch=batches[place % len(batches)]) for place, label in enumerate(RUBBED)
    ]
    bare = [Prepared(preparation=label, batch="solvent") for label in COATS if label not in RUBBED]
    return [*from_tins, *bare]


ASIDE = SetAside(launch=2, cause=CAUSE, value_seen=False)
CHECKED: dict[str, dict[str, Objection]] = {
    "gear-differed": replies(),
    "surface-changed": replies(),
    "you-knew": replies(Guess(preparation="P1", treatment="bare"), text=HIDDEN),
    "dropped-runs": replies(ASIDE),
    "coat-wore": replies(*read_as(WearCheck, LAST)),
    "not-off": replies(*read_as(ReturnToBare, LAST)),
    "few-rounds": replies(),
    "one-tin": replies(*tins("tin 1", "tin 2")),
    "paid": replies(text=PAID),
}
UNCHECKED: dict[str, dict[str, Objection]] = {
    "gear-differed": replies(plan=one_item_each(PLAN)),
    "surface-changed": replies(plan=FEW),
    "you-knew": replies(text=HIDDEN),
    "coat-wore": replies(plan=one_launch_each(PLAN)),
    "not-off": replies(Launched(launch=LAST), Read(launch=LAST, text="6", value=6.0)),
    "slower-than-riding": replies(),
    "one-tin": replies(*tins("tin 1")),
    "paid": replies(),
}


def test_every_objection_has_its_cases() -> None:
    assert set(CHECKED) | set(UNCHECKED) == set(OBJECTIONS)


@pytest.mark.parametrize("code", CHECKED)
def test_an_objection_is_answered_from_the_data(code: str) -> None:
    told = CHECKED[code][code]
    assert told.checked
    assert not told.reply.startswith("Not checked")


@pytest.mark.parametrize("code", UNCHECKED)
def test_the_nearest_case_says_that_it_was_not_checked(code: str) -> None:
    told = UNCHECKED[code][code]
    assert not told.checked
    assert re.match("Not checked: |Not said: |True[.:] ", told.reply)


@pytest.mark.parametrize("cases", [CHECKED, UNCHECKED], ids=["checked", "unchecked"])
def test_every_sentence_is_whole(cases: dict[str, dict[str, Objection]]) -> None:
    for told in (one for case in cases.values() for one in case.values()):
        for text in (told.objection, told.reply):
            assert text and text == text.strip()
            assert not re.search(r"[{}]|  |\bnan\b|None", text), text
            assert text[0].isupper() or text[0].isdigit(), text
            assert text.endswith((".", "?")), text
            assert not re.search(r"\b1 (launches|times|rounds|batches|comparisons|preparations)\b", text), (
                text
            )


def test_that_nothing_was_set_aside_is_an_answer() -> None:
    none, some = replies()["dropped-runs"], CHECKED["dropped-runs"]["dropped-runs"]
    assert none.checked
    assert none.reply == "No launch was set aside: 48 of 48 count."
    assert some.reply.startswith("1 of 48 launches was set aside (")


def test_causes_are_counted_by_treatment_and_by_who_knew_the_distance() -> None:
    given = {one.number: one.treatment for one in PLAN.launches}
    bare = [number for number, treatment in given.items() if treatment == "bare"][:2]
    rub = next(number for number, treatment in given.items() if treatment != "bare")
    told = replies(
        *(SetAside(launch=number, cause=CAUSE, value_seen=True) for number in bare),
        SetAside(launch=rub, cause=CAUSE, value_seen=True),
    )["dropped-runs"]
    assert "(2 bare and 1 paraffin rub), three of them after the distance was known" in told.reply


def test_what_is_not_clear_of_the_distance_is_not_told_as_no() -> None:
    """Each was read before, and somebody said that its distance was not known."""
    aside = [SetAside(launch=number, cause=CAUSE, value_seen=False) for number in (2, 3)]
    one = replies(aside[0])["dropped-runs"].reply
    assert "none of them" not in one and "and it is not clear whether its distance was known." in one
    two = replies(*aside)["dropped-runs"].reply
    assert "and for two of them it is not clear whether the distance was known." in two
    three = replies(*aside, SetAside(launch=4, cause=CAUSE, value_seen=True))["dropped-runs"].reply
    assert "one of them after the distance was known; for two of them it is not clear" in three


@pytest.mark.parametrize(
    ("said", "after_reading", "known"),
    [
        (None, False, None),
        (None, True, True),
        (False, False, False),
        (False, True, None),
        (True, False, True),
        (True, True, True),
    ],
)
def test_a_distance_is_known_by_what_was_said_and_by_the_log(
    said: bool | None, after_reading: bool, known: bool | None
) -> None:
    assert Cause(event="1", cause="", value_seen=said, after_reading=after_reading).distance_known is known


def test_place_and_sky_stand_among_the_conditions_and_nobodys_name() -> None:
    began = [
        Session(outing=1, place="hut", weather="thin cloud", people=["Ada"]),
        Session(outing=2, place="hut"),
    ]
    assert places_and_skies(replay(chain(drafts(began)))) == (("hut",), ("thin cloud",))
    log = log_of(PLAN, [*began, *played(PLAN)])
    conduct = answer_study(study(), PLAN, log).answer.conduct
    assert conduct is not None and conditions_words(conduct) == ("Place: hut.", "Sky and wind: thin cloud.")


def test_guesses_are_held_against_what_was_given() -> None:
    truth = {one.preparation: one.treatment for one in PLAN.launches}
    other = {"bare": "paraffin rub", "paraffin rub": "bare"}
    right = [Guess(preparation=label, treatment=truth[label]) for label in COATS[:3]]
    wrong = [Guess(preparation=label, treatment=other[truth[label]]) for label in COATS[3:5]]
    told = replies(*right, *wrong, text=HIDDEN)["you-knew"]
    assert "they were right 3 times out of 5" in told.reply
    assert replies(*right, *wrong)["you-knew"].reply == "Not checked: treatments were hidden from nobody."


def test_the_last_word_of_each_person_counts_and_cannot_tell_is_no_guess() -> None:
    truth = {one.preparation: one.treatment for one in PLAN.launches}
    other = {"bare": "paraffin rub", "paraffin rub": "bare"}
    first, second, third = COATS[:3]
    said = [
        Guess(preparation=first, treatment=other[truth[first]]),
        Guess(preparation=first, treatment=truth[first]),
        Guess(preparation=first, treatment=other[truth[first]], who="Ada"),
        Guess(preparation=second, treatment=truth[second]),
        Guess(preparation=second, treatment="cannot tell"),
        Guess(preparation=third, treatment="cannot tell"),
    ]
    assert "they were right 1 time out of 2" in replies(*said, text=HIDDEN)["you-knew"].reply
    unsure = [Guess(preparation=third, treatment="cannot tell")]
    assert "nobody guessed" in replies(*unsure, text=HIDDEN)["you-knew"].reply


def test_a_strip_is_held_against_bare() -> None:
    texts = readings(PLAN)
    bare = [float(texts[one.number]) for one in PLAN.launches[:-1] if one.surface == "melt pan"]
    assert bare
    back = 2 * max(bare)
    records = [
        *read_as(ReturnToBare, LAST),
        *(Read(launch=LAST, text=f"{back}", value=back),),
    ]
    log = [body for body in played(PLAN) if not (isinstance(body, Read) and body.launch == LAST)]
    answer = answer_study(study(), PLAN, log_of(PLAN, [*log, *records])).answer
    assert answer.conduct is not None
    (told,) = [one for one in answer.conduct.objections if one.code == "not-off"]
    mean = next(one.mean for one in answer.surfaces[1].treatments if one.reference)
    assert mean is not None
    assert f"{100 * back / mean:.0f} % of what bare gave" in told.reply


def test_pieces_of_gear_are_named_as_the_study_orders_them() -> None:
    assert CHECKED["gear-differed"]["gear-differed"].reply.startswith("Slider 1 and slider 2 carried")


def test_the_replies(snapshot: SnapshotAssertion) -> None:
    told = [
        f"{code}, {name}: {cases[code][code].objection} {cases[code][code].reply}"
        for name, cases in (("answered", CHECKED), ("not answered", UNCHECKED))
        for code in cases
    ]
    assert "\n".join(told) == snapshot


def test_the_walk_says_how_to_meet_each_objection() -> None:
    page = (ROOT / "docs" / "walk.md").read_text(encoding="utf-8").partition("## You will object")[2]
    assert re.findall(r"^\| `([a-z-]+)`:", page, re.MULTILINE) == list(OBJECTIONS)
