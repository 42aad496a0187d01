from __future__ import annotations

from dataclasses import replace

from evenglide.report.method import guarantees, method, riding
from evenglide.report.referee import between_table, between_words, contrast_table, scale_words
from evenglide.report.wording import DISTANCE, NUMBER
from evenglide.show.numbers import NO_BREAK
from tests.report import made_up
from tests.report.made_up import Invented


def column(answer: object, surface: int = 0, place: int = 1) -> dict[str, str]:
    table = contrast_table(answer, answer.surfaces[surface])  # type: ignore[attr-defined, arg-type]
    return {row[0].replace(NO_BREAK, " "): row[place].replace(NO_BREAK, " ") for row in table.rows}


def test_all_numbers_of_a_contrast() -> None:
    numbers = column(made_up.answer())
    assert numbers["verdict"] == "higher"
    assert numbers["size"] == "matters"
    assert numbers["estimate"] == "0.1310"
    assert numbers["standard error"] == "0.0160"
    assert numbers["degrees of freedom"] == "9"
    assert numbers["95 % interval"] == "0.0948 to 0.1672"
    assert numbers["as a ratio"] == "1.1400"
    assert numbers["p, difference"] == "< 0.0001"
    assert numbers["p, randomisation"] == "0.0020"
    assert numbers["orders that could have been drawn"] == "1024 (exact)"
    assert numbers["… which is too narrow by a factor of"] == "2.50"
    assert numbers["mixed model, SD of preparations"] == "3.0 %"
    assert numbers["all treatments alike"] == "F(1, 9) = 9.5, p = 0.013"


def test_what_is_not_there_is_a_dash_and_a_bound_that_is_none_unbounded() -> None:
    answer = made_up.answer([Invented(surface="ice", estimate=None)])
    numbers = column(answer)
    assert numbers["estimate"] == "–"
    assert numbers["p, randomisation"] == "–"
    (contrast,) = answer.surfaces[0].contrasts
    open_ended = replace(contrast, interval_randomisation=(0.1, None), se=0.01, log10_assignments=22.4)
    surface = replace(answer.surfaces[0], contrasts=(open_ended,))
    numbers = column(replace(answer, surfaces=(surface,)))
    assert numbers["95 % interval by randomisation"] == "0.1000 to unbounded"
    assert numbers["orders that could have been drawn"] == "10^22.4"


def test_a_narrower_naive_interval_is_not_claimed() -> None:
    answer = made_up.answer()
    surface = answer.surfaces[0]
    naive = surface.contrasts[0].naive
    assert naive is not None
    contrast = replace(surface.contrasts[0], naive=replace(naive, too_narrow_by=0.9))
    changed = replace(answer, surfaces=(replace(surface, contrasts=(contrast,)),))
    assert column(changed)["… which is too narrow by a factor of"] == "0.90 (not narrower here)"


def test_differences_are_in_the_unit_and_have_no_ratio() -> None:
    answer = made_up.answer(
        [Invented(surface=None, estimate=0.4, se=0.1)], scale="difference", margin=(-0.25, 0.25)
    )
    assert "as a ratio" not in column(answer)
    assert scale_words(answer).endswith("in m.")
    assert "logarithms" in scale_words(made_up.answer())


def test_a_column_for_each_treatment() -> None:
    cases = [
        Invented(surface="ice", treatment=name, estimate=0.1, se=0.02) for name in (made_up.RUB, made_up.WAX)
    ]
    answer = made_up.answer(cases)
    table = contrast_table(answer, answer.surfaces[0])
    assert table.columns == ("quantity", "paraffin rub against bare", "hot wax against bare")
    assert all(len(row) == 3 for row in table.rows)


def test_between_surfaces() -> None:
    (between,) = made_up.answer().between_surfaces
    told = between_words(between).replace(NO_BREAK, " ")
    assert told.endswith("Welch, F(2, 17.3) = 14.2, p = 0.00020.")
    (row,) = between_table(between, level=0.05).rows
    assert row[0] == "groomed snow against wet spring snow"
    assert row[1].startswith("−0.125")
    assert between_words(replace(between, f=None)).endswith("no test.")


def test_a_p_from_drawn_orders_bears_its_error() -> None:
    answer = made_up.answer()
    surface = answer.surfaces[0]
    drawn = replace(
        surface.contrasts[0],
        p_randomisation=0.0312,
        randomisation_method="monte carlo",
        randomisation_draws=999_999,
        randomisation_error=0.000174,
    )
    rows = dict(row[:2] for row in contrast_table(answer, replace(surface, contrasts=(drawn,))).rows)
    assert rows["p, randomisation"].replace(NO_BREAK, " ") == "0.031 (standard error 0.0002)"
    assert "drawn at random" in rows["orders that could have been drawn"]


def test_the_guarantees_in_their_words() -> None:
    told = guarantees(made_up.answer()).replace(NO_BREAK, " ").translate({ord("“"): '"', ord("”"): '"'})
    assert told.startswith(
        'The chance of any false "makes a difference" / "no difference that matters" / '
        '"by an amount that matters" '
        "is at most 5 % each, over the family"
    )
    assert "4 comparisons" in told


def test_without_adjustment_nothing_is_promised_over_the_family() -> None:
    told = guarantees(made_up.answer(adjust="none"))
    assert "Nothing is promised" in told
    assert "over the family" not in told


def test_a_main_surface_makes_two_families() -> None:
    answer = replace(made_up.answer(), main="melt pan", main_family_size=1, family_size=3)
    assert "two families" in guarantees(answer)


def test_the_method_names_what_was_done() -> None:
    words = " ".join(text for _, text in method(made_up.answer()))
    assert "Holm" in words
    assert "logarithms of its launches are averaged" in words
    assert "Bonferroni" in " ".join(text for _, text in method(made_up.answer(adjust="both")))


def test_riding_is_spoken_of_only_for_distances() -> None:
    assert riding(made_up.answer(), NUMBER) == ()
    assert "0.67" in riding(made_up.answer(), DISTANCE)[0][1]
    timed = made_up.answer([Invented(surface="pan", estimate=0.1, se=0.01, mark="timed mark")])
    assert "0.67" not in riding(timed, DISTANCE)[0][1]
