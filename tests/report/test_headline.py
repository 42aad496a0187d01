from __future__ import annotations

from evenglide.report.headline import headline, question
from evenglide.report.wording import DISTANCE, NUMBER
from tests.report import made_up
from tests.report.made_up import Invented

THREE = [
    Invented(surface=surface, treatment=treatment, estimate=estimate, se=0.02)
    for surface in ("powder", "ice")
    for treatment, estimate in ((made_up.RUB, 0.12), (made_up.WAX, -0.12))
]


def test_few_findings_are_named() -> None:
    assert headline(made_up.answer(), DISTANCE) == (
        "Farther on wet spring snow, no difference that matters on groomed snow, shorter on cold powder, "
        "too close to call so far on melt pan."
    )


def test_many_findings_are_counted() -> None:
    cases = [*made_up.FOUR_SURFACES, Invented(surface="ice", estimate=0.14, se=0.01)]
    assert headline(made_up.answer(cases), DISTANCE) == (
        "Farther on two of five surfaces, no difference that matters on one, shorter on one, "
        "too close to call so far on one."
    )


def test_the_headline_keeps_the_order_of_the_rows() -> None:
    told = headline(made_up.answer(list(reversed(made_up.FOUR_SURFACES))), DISTANCE)
    places = [told.index(case.surface or "") for case in reversed(made_up.FOUR_SURFACES)]
    assert places == sorted(places)


def test_one_finding_is_a_sentence() -> None:
    def one(estimate: float | None, se: float | None = 0.006) -> str:
        return headline(made_up.answer([Invented(surface=None, estimate=estimate, se=se)]), DISTANCE)

    assert one(0.12) == "Paraffin rub goes farther than bare."
    assert one(-0.12) == "Paraffin rub goes shorter than bare."
    assert one(0.02) == "Paraffin rub goes farther than bare, but too little to matter."
    assert one(0.0) == "Paraffin rub against bare: no difference that matters."
    assert one(0.02, 0.05) == "Paraffin rub against bare: too close to call so far."
    assert one(None) == "Paraffin rub against bare: no answer."


def test_several_treatments_are_told_one_by_one() -> None:
    assert headline(made_up.answer(THREE), DISTANCE) == (
        "Paraffin rub: farther on powder and ice; hot wax: shorter on powder and ice."
    )
    assert headline(made_up.answer(THREE), NUMBER).startswith("Paraffin rub: higher on powder and ice;")


def test_the_question_names_all_treatments() -> None:
    assert question(made_up.answer(THREE), DISTANCE) == "Does paraffin rub or hot wax go farther than bare?"
    assert question(made_up.answer(), NUMBER) == "Does paraffin rub give more than bare?"


def test_without_surfaces_treatments_stand_under_what_they_did() -> None:
    cases = [
        Invented(surface=None, treatment=treatment, estimate=estimate, se=0.004)
        for treatment, estimate in (
            (made_up.RUB, 0.12),
            (made_up.WAX, 0.02),
            ("ski wax", 0.13),
            ("soap", 0.0),
        )
    ]
    assert headline(made_up.answer(cases), DISTANCE) == (
        "Farther than bare: paraffin rub and ski wax; farther than bare, but too little to matter: hot wax; "
        "no difference that matters: soap."
    )
