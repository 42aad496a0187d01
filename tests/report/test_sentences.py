from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

import evenglide
from evenglide.answer.results import Answer, AuditEntry, ToClose
from evenglide.report.findings import findings_of
from evenglide.report.first_screen import first_screen
from evenglide.report.remarks import remarks_of
from evenglide.report.sentences import tell
from evenglide.report.wording import DISTANCE, NUMBER, Wording
from evenglide.show.catalogue import AUDIT
from evenglide.show.numbers import NO_BREAK
from evenglide.typing import Severity
from tests.report import made_up
from tests.report.made_up import Invented

BANNED = re.compile(
    r"\b(p|df|contrasts?|levels?|applications?|looks?|voids?|degrees of freedom)\b", re.IGNORECASE
)


def sentences(answer: Answer, wording: Wording = DISTANCE) -> list[str]:
    return [tell(finding).text.replace(NO_BREAK, " ") for finding in findings_of(answer, wording)]


def only(invented: Invented, wording: Wording = DISTANCE, **options: object) -> str:
    (sentence,) = sentences(made_up.answer([invented], **options), wording)  # type: ignore[arg-type]
    return sentence


def with_contrast(answer: Answer, **changes: object) -> Answer:
    """Change the first contrast of an answer."""
    surface = answer.surfaces[0]
    contrast = replace(surface.contrasts[0], **changes)  # type: ignore[arg-type]
    changed = replace(surface, contrasts=(contrast, *surface.contrasts[1:]))
    return replace(answer, surfaces=(changed, *answer.surfaces[1:]))


def test_four_surfaces_in_four_sentences() -> None:
    assert sentences(made_up.answer()) == [
        "Goes farther, by 8 to 20 %: more than the 5 % that matters.",
        "No difference that matters: 1.4 % shorter to 2.7 % farther still fits, "
        "less than the 5 % that matters.",
        "Goes shorter, by 4 to 18 %. More than the 4.8 % shorter that matters? Not settled.",
        "Too close to call so far: this does not say that paraffin rub does nothing. "
        "Anything from 8 % shorter to 15 % farther fits.",
    ]


def test_a_shorter_bound_near_the_edge_is_held_against_both() -> None:
    """Stated 5 % is 4.8 % downwards: 4.3 % shorter lies within by less than "5 %" would make it look."""
    told = only(Invented(surface=None, estimate=-0.02, se=0.0128))
    assert told == (
        "No difference that matters: 4.3 % shorter to 0.3 % farther still fits, "
        "less than the 4.8 % shorter or 5 % farther that matters."
    )
    told = only(Invented(surface=None, estimate=-0.03, se=0.0065))
    assert told == (
        "Goes shorter, but too little to matter, by 1.8 to 4.1 %, less than the 4.8 % shorter that matters."
    )


def test_a_difference_that_is_small_is_told_with_both_halves() -> None:
    told = only(Invented(surface=None, estimate=0.02, se=0.006))
    assert told == "Goes farther, but too little to matter, by 0.9 to 3.1 %, less than the 5 % that matters."


def test_without_a_margin_nothing_is_said_of_mattering() -> None:
    told = sentences(made_up.answer(margin=None))
    assert told[0] == "Goes farther, by 8 to 20 %."
    assert told[3].endswith("does nothing. Anything from 8 % shorter to 15 % farther fits.")
    assert not any("matter" in sentence for sentence in told)


def test_differences_carry_their_unit() -> None:
    case = Invented(surface=None, estimate=0.4, se=0.1)
    told = only(case, scale="difference", margin=(-0.25, 0.25))
    assert told == "Goes farther, by 0.17 to 0.63 m. More than the 0.25 m that matters? Not settled."
    told = only(
        replace(case, estimate=-0.4, se=0.05), NUMBER, scale="difference", margin=(-0.25, 0.25), unit=None
    )
    assert told == "Lower, by 0.29 to 0.51 units: more than the 0.25 units that matter."


def test_a_treatment_that_was_not_launched_has_no_answer() -> None:
    told = sentences(made_up.answer([Invented(surface="ice", estimate=None), *made_up.FOUR_SURFACES]))
    assert told[0] == "No answer here: paraffin rub was not launched on it."


def test_one_preparation_each_gives_an_estimate_and_no_verdict() -> None:
    told = only(Invented(surface="ice", estimate=0.05))
    assert told == (
        "Too close to call so far. 5.1 % farther on these very preparations; "
        "nothing here tells how far others would lie from them."
    )


def test_clear_alone_but_not_in_the_family_is_said() -> None:
    cases = [replace(case, estimate=0.031, se=0.0125) for case in made_up.FOUR_SURFACES]
    told = sentences(made_up.answer(cases))
    assert all(
        sentence.endswith("Farther is clear on its own, not once four surfaces share the error rate.")
        for sentence in told
    )
    assert all(sentence.startswith("Too close to call so far: this does not say") for sentence in told)
    assert "on its own" not in sentences(made_up.answer(cases, adjust="none"))[0]


def test_alike_alone_but_not_in_the_family_is_said() -> None:
    cases = [replace(case, estimate=0.0, se=0.022) for case in made_up.FOUR_SURFACES]
    told = sentences(made_up.answer(cases))[0]
    assert told.endswith(
        "On its own it would count as no difference that matters, "
        "not once four surfaces share the error rate."
    )


def test_with_several_treatments_comparisons_share_the_error_rate() -> None:
    cases = [
        Invented(surface=surface, treatment=treatment, estimate=0.031, se=0.0125)
        for surface in ("powder", "ice")
        for treatment in (made_up.RUB, made_up.WAX)
    ]
    assert "not once four comparisons share" in sentences(made_up.answer(cases))[0]


@pytest.mark.parametrize(
    ("bar", "size", "ending"),
    [
        (
            (0.06, 0.2),
            "unsettled",
            "The bar lies beyond it, but that did not hold once four surfaces share the error rate.",
        ),
        (
            (-0.01, 0.02),
            "unsettled",
            "The bar lies within it, but that did not hold once four surfaces share the error rate.",
        ),
        (
            (0.01, 0.2),
            "matters",
            "That held once four surfaces share the error rate, though the bar reaches below it.",
        ),
    ],
)
def test_where_bar_and_size_disagree_the_sentence_says_which_held(
    bar: tuple[float, float], size: str, ending: str
) -> None:
    changed = with_contrast(
        made_up.answer(), interval_adjusted=bar, size=size, p_alike_adjusted=1.0, p_alike=1.0
    )
    assert sentences(changed)[0].endswith(ending)


def test_the_bar_is_the_alike_interval_exactly_when_small() -> None:
    for finding in findings_of(made_up.answer(), DISTANCE):
        expected = "interval_alike" if finding.contrast.size == "small" else "interval_adjusted"
        assert finding.bar == getattr(finding.contrast, expected)


def test_disagreement_of_the_own_pair_is_in_the_sentence() -> None:
    case = Invented(surface="powder", estimate=0.08, se=0.02, spread_unequal=True)
    assert only(case).endswith(
        "The preparations of paraffin rub and bare alone say otherwise: the treatments scatter unequally."
    )


def test_open_says_how_many_rounds_would_settle_it() -> None:
    (line,) = [line for line in first_screen(made_up.answer(), DISTANCE).not_settled if "Melt pan" in line]
    assert line.replace(NO_BREAK, " ") == (
        "Melt pan: a new sealed study needs 14 rounds to show a difference of 5 % or 11 rounds to show "
        "that none matters (80 % chance each)."
    )


@pytest.mark.parametrize(
    ("difference", "alike", "ending"),
    [
        (
            16,
            16,
            "needs 16 rounds, to show a difference of 5 % or to show that none matters (80 % chance each).",
        ),
        (16, None, "needs 16 rounds to show a difference of 5 % (80 % chance)."),
        (None, 11, "needs 11 rounds to show that none matters (80 % chance)."),
    ],
)
def test_equal_numbers_of_rounds_are_told_once(
    difference: int | None, alike: int | None, ending: str
) -> None:
    closing = ToClose(difference_blocks=difference, alike_blocks=alike, chance=0.8)
    answer = with_contrast(made_up.answer(made_up.FOUR_SURFACES[3:]), to_close=closing)
    assert first_screen(answer, DISTANCE).not_settled[0].replace(NO_BREAK, " ").endswith(ending)


def test_rounds_that_cannot_be_said_are_not_said() -> None:
    answer = with_contrast(made_up.answer(made_up.FOUR_SURFACES[3:]), to_close=None)
    assert (
        first_screen(answer, DISTANCE)
        .not_settled[0]
        .endswith("how many rounds would settle it cannot be said.")
    )


ANSWERS = {
    "four": made_up.answer(),
    "no margin": made_up.answer(margin=None),
    "not launched": made_up.answer([Invented(surface="ice", estimate=None), *made_up.FOUR_SURFACES]),
    "one each": made_up.answer([Invented(surface="ice", estimate=0.05)]),
    "unbounded": with_contrast(
        made_up.answer(), interval_adjusted=(None, 0.3), verdict="open", size="unsettled"
    ),
    "three treatments": made_up.answer(
        [
            Invented(surface=surface, treatment=treatment, estimate=estimate, se=0.02, spread_unequal=True)
            for surface in ("powder", "ice")
            for treatment, estimate in ((made_up.RUB, 0.05), (made_up.WAX, -0.03))
        ]
    ),
}


@pytest.mark.parametrize("name", list(ANSWERS))
@pytest.mark.parametrize("wording", [DISTANCE, NUMBER])
def test_the_first_screen_speaks_to_riders(name: str, wording: Wording) -> None:
    text = first_screen(ANSWERS[name], wording).text
    assert BANNED.findall(text) == []
    other = ("farther", "shorter") if wording is NUMBER else ("higher", "lower")
    assert not any(word in text.lower() for word in other)
    assert not re.search(r"\d%", text)
    assert not re.search(r"\d (?:%|m\b)", text)


def test_settled_everywhere_leaves_nothing_open() -> None:
    answer = made_up.answer([Invented(surface=None, estimate=0.131, se=0.01)])
    assert first_screen(answer, DISTANCE).not_settled == ()


def test_what_it_rests_on_counts_preparations_first() -> None:
    rests = first_screen(made_up.answer(), DISTANCE).rests_on.text.replace(NO_BREAK, " ")
    assert rests.startswith("20 preparations on each surface: 10 bare and 10 paraffin rub.")
    assert rests.endswith(
        "A preparation is one piece of gear made ready once; the 472 launches only make each one steadier."
    )


def test_preparations_launched_once_are_told_as_such() -> None:
    answer = made_up.answer([Invented(surface=None, estimate=0.05)])
    once = tuple(replace(facts, launches=facts.preparations) for facts in answer.surfaces[0].treatments)
    answer = replace(answer, surfaces=(replace(answer.surfaces[0], treatments=once),))
    rests = first_screen(answer, DISTANCE).rests_on.text.replace(NO_BREAK, " ")
    assert rests == "2 preparations: 1 bare and 1 paraffin rub, each launched once."


def test_preparations_that_served_all_surfaces_are_not_counted_again() -> None:
    answer = with_contrast(made_up.answer(), p_randomisation_joint=0.01)
    served = f"20{NO_BREAK}preparations served every surface"
    assert first_screen(answer, DISTANCE).rests_on.lead == served
    assert first_screen(made_up.answer(), DISTANCE, shared=True).rests_on.lead == served
    assert "on each surface" in first_screen(answer, DISTANCE, shared=False).rests_on.lead


def test_a_seal_is_told_and_its_absence_too() -> None:
    answer = made_up.answer()
    assert first_screen(answer, DISTANCE).checking[0].startswith("Nothing shows that the rule was fixed")
    sealed = replace(answer, provenance=replace(answer.provenance, seal="ab12" + "0" * 56 + "cd34"))
    assert "sealed before the first launch" in first_screen(sealed, DISTANCE).checking[0]
    assert "fingerprint ab12…" in first_screen(sealed, DISTANCE).checking[0]
    assert "not" not in first_screen(sealed, DISTANCE).checking[0]
    dated = first_screen(sealed, DISTANCE, sealed_on="9 January 2026").checking[0]
    assert dated.startswith("The rule was sealed on 9 January 2026, before the first launch")


def test_the_gravest_limit_comes_first() -> None:
    answer = made_up.answer()
    assert first_screen(answer, DISTANCE).cannot_say[0].startswith("Later surfaces met a more worn coat")
    clean = replace(answer, audit=())
    assert first_screen(clean, DISTANCE).cannot_say[0].startswith("One launch shows gliding at its own speed")
    assert "riding" not in " ".join(first_screen(clean, NUMBER).cannot_say)


def test_a_remark_that_only_warns_is_told_where_nothing_limits() -> None:
    def first(*audit: AuditEntry) -> str:
        return first_screen(replace(made_up.answer(), audit=audit), DISTANCE).cannot_say[0]

    def entry(severity: Severity, surface: str | None) -> AuditEntry:
        return AuditEntry(code="x", severity=severity, surface=surface, facts={}, text="Odd. And more.")

    fine, warns = entry("fine", "melt pan"), entry("warns", "melt pan")
    assert first(fine, warns) == "Melt pan: Odd."
    assert first(fine).startswith("One launch shows")
    everywhere = [entry("warns", surface.surface) for surface in made_up.answer().surfaces]
    assert first(*everywhere) == "Odd."
    assert first(entry("limits", "cold powder"), *everywhere) == "Cold powder: Odd."


@pytest.mark.parametrize("code", list(AUDIT))
def test_every_remark_can_stand_on_the_first_screen(code: str) -> None:
    entry = AuditEntry(code=code, severity="limits", surface=None, facts={}, text=AUDIT[code].text)
    answer = replace(made_up.answer(), audit=(entry,))
    told = re.sub(r"\{[^}]*\}", "", first_screen(answer, DISTANCE).cannot_say[0])
    assert BANNED.findall(told) == []


def test_remarks_are_counted_as_they_are_listed() -> None:
    same = [replace(made_up.AUDIT[2], surface=name) for name in ("groomed snow", "cold powder")]
    answer = replace(made_up.answer(), audit=(*same, made_up.AUDIT[0]))
    assert first_screen(answer, DISTANCE).remarks == len(remarks_of(answer)) == 2
    other = replace(same[1], text="It reads differently here.")
    (remark, _) = remarks_of(replace(answer, audit=(same[0], other, made_up.AUDIT[0])))
    assert [surface for surface, _ in remark.told] == ["groomed snow", "cold powder"]


def test_main_surface_has_its_own_family() -> None:
    answer = replace(made_up.answer(), main="melt pan", main_family_size=1, family_size=3)
    shared = [finding.sharing for finding in findings_of(answer, DISTANCE)]
    assert shared == ["three surfaces", "three surfaces", "three surfaces", None]


def test_percent_and_difference_scales_agree_on_direction() -> None:
    assert only(Invented(surface=None, estimate=-math.log(1.2), se=0.01)).startswith("Goes shorter, by 1")


def test_what_it_rests_on_names_the_gear_where_the_gear_is_what_counts() -> None:
    table = {
        "d": [1.0, 1.1, 1.2, 1.4, 1.3, 1.2],
        "t": ["bare", "rub"] * 3,
        "board": ["one", "two"] * 3,
        "round": [1, 1, 2, 2, 3, 3],
    }
    answer = evenglide.judge(table, response="d", treatment="t", item="board", block="round")
    rests = first_screen(answer, DISTANCE).rests_on.text.replace(NO_BREAK, " ")
    assert rests.endswith("no piece of gear changed its treatment, so only 2 pieces of gear count.")
    swapped = {**table, "board": ["one", "two", "two", "one", "one", "two"]}
    answer = evenglide.judge(swapped, response="d", treatment="t", item="board", block="round")
    assert "pieces of gear count" not in first_screen(answer, DISTANCE).rests_on.text


def test_nothing_rests_on_launches_that_give_no_preparation_a_value() -> None:
    table = {"d": [1.0, 1.1, 1.2, 1.4], "t": ["bare", "rub"] * 2, "coat": list("wxyz"), "way": list("obbo")}
    answer = evenglide.judge(table, response="d", treatment="t", preparation="coat", direction="way")
    rests = first_screen(answer, DISTANCE).rests_on.text.replace(NO_BREAK, " ")
    assert rests == "No preparation has a value: 4 launches cannot be judged so."
