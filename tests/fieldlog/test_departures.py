"""Each departure has a case that sets it off and a nearest one that does not."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.fieldlog.bodies import (
    AtLeast,
    Block,
    Body,
    CoatDamaged,
    Conflicting,
    Corrected,
    Incident,
    Launched,
    Look,
    Noted,
    PegLost,
    Prepared,
    Read,
    ReturnToBare,
    Reveal,
    Sealed,
    SetAside,
    SetUp,
    Stopped,
    WearCheck,
    parse_body,
)
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.departures import Files, departures_of, out_of_order
from evenglide.fieldlog.events import Event, derived_id
from evenglide.fieldlog.fold import replay
from evenglide.plan.table import write_schedule
from evenglide.readings.from_log import readings_from_log
from evenglide.readings.left_out import departures_of_readings
from evenglide.show.departures import DEPARTURES, Departure, runs
from tests.fieldlog.made_up import (
    CAUSE,
    LAPTOP,
    PHONE,
    STUDY_TEXT,
    drafts,
    log_of,
    played,
    schedule,
    sealed,
    study,
)

PLAN = schedule(blocks=2, launches=2)
PLAYED = played(PLAN)
TEXT = "level = 0.05"
HIDDEN = STUDY_TEXT + '\n[blinding]\nhidden_from = ["reader"]\n'
SEEN = {body.launch for body in PLAYED if isinstance(body, Read)}
FIRST = PLAN.launches[0]


def found(
    log: tuple[Event, ...], *, text: str = STUDY_TEXT, files: Files | None = None
) -> dict[str, Departure]:
    state = replay(log)
    asked = study(text)
    told = [
        *departures_of(asked, PLAN, state, arrived=log, files=files),
        *departures_of_readings(readings_from_log(asked, PLAN, state)),
    ]
    assert len({one.code for one in told}) == len(told), "one departure of each kind in these cases"
    return {one.code: one for one in told}


def log(
    *more: Body, but: Callable[[Body], bool] = lambda body: False, text: str = STUDY_TEXT
) -> tuple[Event, ...]:
    """A log as planned, without some bodies, with more at the end."""
    return log_of(PLAN, [*(body for body in PLAYED if not but(body)), *more], text=text)


def of(launch: int) -> Callable[[Body], bool]:
    return lambda body: getattr(body, "launch", None) == launch


def last_read() -> str:
    return log()[-1].id


def moved(first: int, second: int) -> tuple[Event, ...]:
    """A log in which two launches changed places."""
    swap = {first: second, second: first}
    bodies = [body.model_copy(update={"launch": swap.get(body.launch, body.launch)}) for body in PLAYED]  # type: ignore[union-attr]
    return log_of(PLAN, bodies)


def before_the_seal(count: int) -> tuple[Event, ...]:
    made = drafts(PLAYED)
    return chain([*made[:count], *drafts([sealed(PLAN)], device=LAPTOP), *made[count:]])


def with_clock(minute: int) -> tuple[Event, ...]:
    """The seal by a clock that says 8:`minute`; the first launch is at 8:01."""
    seal = replace(drafts([sealed(PLAN)], device=LAPTOP)[0], device_time=f"2026-01-17T08:{minute:02d}:00Z")
    return chain([seal, *drafts(PLAYED)])


def with_jump(seconds: int) -> tuple[Event, ...]:
    made = drafts(PLAYED)
    made[-1] = replace(made[-1], device_time=made[-2].device_time.replace(":00.000Z", f":{seconds:02d}.000Z"))
    made[-2] = replace(made[-2], device_time=made[-2].device_time.replace("T08", "T09"))
    return chain([*drafts([sealed(PLAN)], device=LAPTOP), *made])


def with_numbers(*numbers: int) -> tuple[Event, ...]:
    made = drafts(PLAYED)
    ends = [replace(draft, sequence=number) for draft, number in zip(made[-2:], numbers, strict=True)]
    return chain([*drafts([sealed(PLAN)], device=LAPTOP), *made[:-2], *ends])


def revealed(place: int) -> tuple[Event, ...]:
    bodies = list(PLAYED)
    bodies.insert(place, Reveal())
    return log_of(PLAN, bodies, text=HIDDEN)


def looked(place: int, **planned: int) -> tuple[Event, ...]:
    bodies = list(PLAYED)
    bodies.insert(place, Look(number=1, launches=place // 2, **planned))
    return log_of(PLAN, bodies)


def broken_seal() -> Sealed:
    body = sealed(PLAN)
    assert isinstance(body, Sealed)
    return body.model_copy(update={"study_text": STUDY_TEXT + "\n"})


def two_devices(*texts: str) -> tuple[Event, ...]:
    made = log()
    target = made[-1].id
    corrections = [
        drafts([Corrected(target=target, launch=16, text=text, value=float(text))], device=f"z{n}")[0]
        for n, text in enumerate(texts)
    ]
    return chain([*(event.to_draft() for event in made), *corrections])


def amended(*more: Body, at: int, what: type[Body] = Read) -> tuple[Event, ...]:  # type: ignore[valid-type]
    """A log in which the results are looked at, and then records of a launch are changed."""
    target = next(one.id for one in log() if isinstance(one.body, what) and one.body.launch == at)  # type: ignore[attr-defined]
    corrected = [body.model_copy(update={"target": target}) for body in more if isinstance(body, Corrected)]
    return log(
        Look(number=1, launches=16), *corrected, *(one for one in more if not isinstance(one, Corrected))
    )


ASIDE = SetAside(launch=1, cause=CAUSE, value_seen=False)
N = len(PLAYED)
CASES: dict[str, tuple[tuple[Event, ...], tuple[Event, ...]]] = {
    "not-sealed": (chain(drafts(PLAYED)), log()),
    "seal-broken": (chain([*drafts([broken_seal()], device=LAPTOP), *drafts(PLAYED)]), log()),
    "sealed-twice": (log(broken_seal()), log(sealed(PLAN))),
    "launched-before-seal": (before_the_seal(1), before_the_seal(0)),
    "clock-before-seal": (with_clock(4), with_clock(3)),
    "clock-jumped": (with_jump(0), log()),
    "launches-missing": (log(but=of(3)), log(SetAside(launch=3, cause=CAUSE, value_seen=False), but=of(3))),
    "launches-beyond-plan": (log(Launched(launch=17)), log()),
    "order-changed": (moved(2, 3), log()),
    "preparations-missing": (
        log(but=lambda body: any(of(one.number)(body) for one in PLAN.launches if one.preparation == "P1")),
        log(but=of(1)),
    ),
    "preparations-beyond-plan": (log(Prepared(preparation="P9")), log(Prepared(preparation="P1"))),
    "treatment-otherwise": (
        log(Prepared(preparation="P1", treatment="bare")),
        log(Prepared(preparation="P1", treatment=FIRST.treatment)),
    ),
    "items-otherwise": (
        log(Prepared(preparation="P1", item="slider 2")),
        log(Prepared(preparation="P1", item="slider 1")),
    ),
    "blocks-beyond-plan": (log(Block(block="3")), log(Block(block="2"))),
    "set-up-otherwise": (
        log(SetUp(set_up=1, surface="melt pan")),
        log(SetUp(set_up=1, surface="cold powder", direction="out")),
    ),
    "not-placed": (log(SetUp(set_up=1, surface="ice")), log(SetUp(set_up=1, surface="melt pan"))),
    "voids-for-other-reasons": (
        log(ASIDE.model_copy(update={"cause": "slow"}), but=of(1)),
        log(ASIDE.model_copy(update={"cause": CAUSE.upper()}), but=of(1)),
    ),
    "voids-with-value-seen": (log(ASIDE.model_copy(update={"value_seen": True})), log(ASIDE, but=of(1))),
    "voids-value-perhaps-seen": (log(SetAside(launch=1, cause=CAUSE), but=of(1)), log(ASIDE, but=of(1))),
    "coat-damaged": (log(CoatDamaged(preparation="P1")), log()),
    "incident": (log(Incident(words="the dog")), log()),
    "looks-beyond-plan": (log(Look(number=1)), log()),
    "looked-early": (looked(N - 2), looked(N)),
    "ended-early": (log(Look(number=1, launches=15), but=of(16)), log(but=of(16))),
    "changed-after-look": (
        amended(Corrected(target="", launch=1, text="6.1", value=6.1), at=1),
        amended(Corrected(target="", launch=1, changes={"peg": "4"}), at=1, what=Launched),
    ),
    "launches-as-checks": (log(WearCheck(preparation="P1", launch=1)), log(WearCheck(preparation="P1"))),
    "launched-otherwise": (
        log(Launched(launch=1, preparation="P2"), but=of(1)),
        log(Launched(launch=1, preparation=FIRST.preparation, set_up=FIRST.set_up), but=of(1)),
    ),
    "set-aside-taken-back": (
        log(ASIDE, Corrected(target=derived_id(PHONE, N + 1), launch=1, withdrawn=True)),
        log(ASIDE, Corrected(target=derived_id(PHONE, N + 1), launch=1, text="nose under the snow")),
    ),
    "revealed-early": (revealed(N - 2), revealed(N)),
    "readings-corrected": (log(Corrected(target=last_read(), text="6.1", value=6.1)), log()),
    "pegs-lost": (log(PegLost(launch=2), but=of(2)), log()),
    "unread": (log(Read(launch=2, text="?", unread=True), but=of(2)), log()),
    "unusable": (
        log(Read(launch=2, text="0", value=0.0), but=of(2)),
        log(Read(launch=2, text="0.1", value=0.1), but=of(2)),
    ),
    "read-twice": (log(Read(launch=2, text="1", value=1.0)), log()),
    "read-though-lost": (log(PegLost(launch=2)), log()),
    "launched-twice": (log(Launched(launch=2)), log()),
    "set-aside-twice": (log(ASIDE, SetAside(launch=1, cause="slow", value_seen=False)), log(ASIDE, ASIDE)),
    "stopped-and-at-least": (log(Stopped(launch=2), AtLeast(launch=2)), log(Stopped(launch=2))),
    "prepared-twice": (
        log(Prepared(preparation="P1", grams=1.0), Prepared(preparation="P1", grams=2.0)),
        log(Prepared(preparation="P1", grams=1.0), Prepared(preparation="P2", grams=2.0)),
    ),
    "set-up-twice": (log(SetUp(set_up=1, level="a"), SetUp(set_up=1, level="b")), log(SetUp(set_up=1))),
    "unknown-records": (log(parse_body({"kind": "glided", "version": 1})), log()),
    "conflicting-records": (log(Conflicting(event="a", body={})), log()),
    "corrections-astray": (log(Corrected(target="nowhere", text="6")), log()),
    "corrected-differently": (two_devices("6.1", "6.2"), two_devices("6.1", "6.1")),
    "records-missing": (with_numbers(N - 1, N + 1), with_numbers(N - 1, N)),
    "record-numbers-twice": (with_numbers(N - 1, N - 1), with_numbers(N - 1, N)),
}
OF_FILES = {"study-edited", "schedule-edited"}
MEANT = Files(study_text=STUDY_TEXT, schedule_text=write_schedule(PLAN))


def test_every_departure_has_its_cases() -> None:
    assert set(CASES) | OF_FILES == set(DEPARTURES)


def asked(code: str) -> str:
    return HIDDEN if code == "revealed-early" else STUDY_TEXT


@pytest.mark.parametrize("code", CASES)
def test_a_departure_is_told(code: str) -> None:
    told = found(CASES[code][0], text=asked(code))
    assert code in told
    assert not re.search(r"[{}]", told[code].text)


@pytest.mark.parametrize("code", CASES)
def test_the_nearest_case_is_not_told(code: str) -> None:
    assert code not in found(CASES[code][1], text=asked(code))


def test_a_log_as_planned_departs_in_nothing() -> None:
    assert found(log(), files=MEANT) == {}


@pytest.mark.parametrize(
    ("files", "codes"),
    [
        (replace(MEANT, study_text=STUDY_TEXT + " "), {"study-edited"}),
        (replace(MEANT, schedule_text=write_schedule(PLAN) + "\n"), {"schedule-edited"}),
        (Files(study_text=None, schedule_text=None), set()),
    ],
)
def test_edits_of_the_files_are_told(files: Files, codes: set[str]) -> None:
    assert set(found(log(), files=files)) == codes


def test_one_and_many_are_told_as_people_say_it() -> None:
    one = found(log(Launched(launch=17)))["launches-beyond-plan"].text
    many = found(log(Launched(launch=17), Launched(launch=18)))["launches-beyond-plan"].text
    assert one.startswith("1 launch was made that the plan does not have (17).")
    assert many.startswith("2 launches were made that the plan does not have (17, 18).")


def test_the_gravest_come_first() -> None:
    state = replay(log(Incident(words="the dog"), but=of(3)))
    told = departures_of(study(), PLAN, state)
    assert [one.severity for one in told] == ["warns", "fine"]
    unsealed = departures_of(study(), PLAN, replay(chain(drafts(PLAYED[2:]))))
    assert [one.code for one in unsealed] == ["not-sealed", "launches-missing"]


def test_sentences_name_what_was_found() -> None:
    told = found(log(Block(block="3"), Block(block="4")))["blocks-beyond-plan"]
    assert told.text == "Rounds were made that the plan does not have: 3 and 4. Their launches do not count."
    missing = found(log_of(PLAN, PLAYED[:-6]))["launches-missing"]
    assert missing.text == "Not made: 3 of 16 planned launches (14 to 16)."
    assert missing.facts["numbers"] == (14, 15, 16)


@pytest.mark.parametrize(
    ("numbers", "moved_numbers"),
    [
        ([], []),
        ([1, 2, 3], []),
        ([2, 1, 3], [2]),
        ([3, 1, 2], [3]),
        ([2, 3, 1], [1]),
        ([4, 3, 2, 1], [2, 3, 4]),
    ],
)
def test_the_fewest_launches_are_called_out_of_order(numbers: list[int], moved_numbers: list[int]) -> None:
    assert out_of_order(numbers) == moved_numbers


def test_long_lists_of_numbers_are_cut() -> None:
    assert runs(range(1, 40, 2)) == "1, 3, 5, 7, 9, 11, 13, 15 and 12 more"


def test_the_sentences(snapshot: SnapshotAssertion) -> None:
    told = [found(CASES[code][0], text=asked(code))[code] for code in sorted(CASES)]
    assert "\n".join(f"{one.code} ({one.severity}): {one.text}" for one in told) == snapshot


def test_a_check_that_was_planned_is_no_departure() -> None:
    planned = STUDY_TEXT + "\n[looks]\nnumber = 2\n"
    log = log_of(PLAN, [*PLAYED[:8], Look(number=1, planned=1, launches=4), *PLAYED[8:]], text=planned)
    assert departures_of(study(planned), PLAN, replay(log), arrived=log) == ()


def test_launches_that_a_check_spares_are_not_missing() -> None:
    events = log(but=of(16))
    told = departures_of(study(), PLAN, replay(events), arrived=events, spared={16})
    assert "launches-missing" not in {one.code for one in told}


@pytest.mark.parametrize(
    ("body", "changed"),
    [
        (SetAside(launch=3, cause=CAUSE, value_seen=False), (3,)),
        (AtLeast(launch=3), (3,)),
        (Stopped(launch=3), (3,)),
        (WearCheck(preparation="P1", launch=3), (3,)),
        (ReturnToBare(preparation="P1", launch=3), (3,)),
        (Noted(words="gust", launch=3), None),
        (Read(launch=3, text="9", value=9.0), None),
        (SetAside(launch=16, cause=CAUSE, value_seen=False), None),
    ],
)
def test_what_is_recorded_of_an_analysed_launch_after_a_look(
    body: Body, changed: tuple[int, ...] | None
) -> None:
    """Launch 3 was analysed; 16 had not been read when somebody looked."""
    told = found(log(Look(number=1, launches=15), body, but=of(16)))
    assert (told["changed-after-look"].facts["numbers"] if changed else None) == changed
    assert ("changed-after-look" in told) == bool(changed)


def test_a_launch_set_aside_before_a_look_and_counted_after_it_is_told() -> None:
    back = Corrected(target=derived_id(PHONE, N - 1), launch=1, withdrawn=True)
    told = found(log(ASIDE, Look(number=1, launches=16), back, but=of(1)))
    assert told["changed-after-look"].facts["numbers"] == (1,)


def test_another_cause_is_not_counted_after_all() -> None:
    back = Corrected(target=derived_id(PHONE, N - 1), launch=1, withdrawn=True)
    again = SetAside(launch=1, cause="rig moved more than 1 cm", value_seen=False)
    assert "set-aside-taken-back" not in found(log(ASIDE, back, again, but=of(1)))


def test_a_look_cannot_be_taken_back() -> None:
    look = Look(number=1, launches=15)
    taken_back = Corrected(target=derived_id(PHONE, N - 1), withdrawn=True)
    told = found(log(look, taken_back, *(body for body in PLAYED if of(16)(body)), but=of(16)))
    assert {"looked-early", "corrections-astray"} <= set(told)


def test_a_reading_that_was_taken_back_was_still_known() -> None:
    """Read, taken back, set aside as if nobody had seen it, as a page that asks before the reading would."""
    aside = SetAside(launch=16, cause=CAUSE, value_seen=False)
    told = found(log(Corrected(target=last_read(), launch=16, withdrawn=True), aside))
    assert told["voids-value-perhaps-seen"].facts["numbers"] == (16,)
    unsaid = aside.model_copy(update={"value_seen": None})
    told = found(log(Corrected(target=last_read(), launch=16, withdrawn=True), unsaid))
    assert told["voids-with-value-seen"].facts["numbers"] == (16,)


def test_a_reading_taken_back_and_read_again_is_told() -> None:
    again = Read(launch=16, text="7.7", value=7.7)
    told = found(log(Corrected(target=last_read(), launch=16, withdrawn=True), again))
    assert told["readings-corrected"].facts["numbers"] == (16,)
