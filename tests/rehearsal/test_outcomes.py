"""What is right and what is wrong, verdict by verdict; and names and sizes of troubles and truths."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenglide.errors import OptionError
from evenglide.rehearsal.outcomes import ALIKE, HIGHER, LOWER, MATTERS, OPEN, SMALL, UNSETTLED, outcomes
from evenglide.rehearsal.supposed import standing_truths, stated_truths
from evenglide.rehearsal.troubles import TROUBLES, named_troubles
from tests.rehearsal.plans import MARGIN, SURFACES, a_study, troubles

ANSWERS = {
    "open": (OPEN, UNSETTLED),
    "higher": (HIGHER, UNSETTLED),
    "higher, small": (HIGHER, SMALL),
    "higher, matters": (HIGHER, MATTERS),
    "lower": (LOWER, UNSETTLED),
    "lower, small": (LOWER, SMALL),
    "lower, matters": (LOWER, MATTERS),
    "alike": (ALIKE, SMALL),
}
RIGHT = {
    0.0: {"alike"},
    0.5: {"alike", "higher", "higher, small"},
    1.0: {"higher", "higher, matters"},
    2.0: {"higher", "higher, matters"},
    -0.5: {"alike", "lower", "lower, small"},
    -1.0: {"lower", "lower, matters"},
}
"""By effect in margins."""


@pytest.mark.parametrize("times", RIGHT)
def test_every_answer_is_right_open_or_wrong(times: float) -> None:
    verdict, size = np.array(list(ANSWERS.values()), dtype=np.int64).T
    found = outcomes(verdict, size, effect=times * MARGIN, margin=(-MARGIN, MARGIN))
    assert {name for name, right in zip(ANSWERS, found.right, strict=True) if right} == RIGHT[times]
    wrong = {name for name, bad in zip(ANSWERS, found.wrong, strict=True) if bad}
    assert wrong == set(ANSWERS) - RIGHT[times] - {"open"}


def test_without_a_margin_only_the_direction_can_be_wrong() -> None:
    verdict, size = np.array([[OPEN, HIGHER, LOWER], [UNSETTLED] * 3])
    found = outcomes(verdict, size, effect=0.01, margin=None)
    assert (list(found.right), list(found.wrong)) == ([False, True, False], [False, False, True])


def test_truths_follow_from_what_matters_on_each_surface() -> None:
    own = replace(SURFACES[1], margin=(-0.2, 0.2))
    study = a_study(surfaces=(SURFACES[0], own))
    found = {truth.name: truth.effects for truth in standing_truths(study)}
    assert found["none"] == {"powder": 0.0, "ice": 0.0}
    assert found["half"] == {"powder": MARGIN / 2, "ice": 0.1}
    assert found["twice"] == {"powder": 2 * MARGIN, "ice": 0.4}
    assert [truth.name for truth in standing_truths(a_study(margin=None))] == ["none"]


def test_truths_are_read_as_typed() -> None:
    study = a_study()
    everywhere, here, less = stated_truths(study, ["8 %", "ice = 12,5 %; slush=-10 %", "-5 %"])
    assert set(everywhere.effects.values()) == {math.log1p(0.08)}
    assert here.effects == {"powder": 0.0, "ice": math.log1p(0.125), "slush": math.log1p(-0.1)}
    assert less.effects["ice"] == pytest.approx(math.log(0.95), rel=1e-15)
    units = a_study(scale="difference", margin=(-0.25, 0.25))
    (metres,) = stated_truths(units, ["20 cm"])
    assert metres.effects["ice"] == pytest.approx(0.2)


def test_everything_wrong_with_truths_is_told_at_once() -> None:
    with pytest.raises(OptionError) as caught:
        stated_truths(a_study(margin=None), ["much", "margin", "sand = 3 %", "0.2 m", "-100 %"])
    assert [problem.code for problem in caught.value.problems] == [
        "bad-truth",
        "bad-truth",
        "no-such-surface",
        "bad-truth",
        "bad-truth",
    ]


def test_troubles_have_their_usual_size_or_the_one_that_is_stated() -> None:
    found = {one.name: one for one in troubles("unequal-scatter=3", "set-aside", "drift=12,5 %")}
    assert list(found) == ["set-aside", "drift", "unequal-scatter"]
    assert (found["set-aside"].size, found["drift"].size, found["unequal-scatter"].size) == (0.1, 0.125, 3.0)
    assert "12.5" in found["drift"].told and "3 times" in found["unequal-scatter"].told
    (more,) = named_troubles(["set-aside"], item="slider", reference="bare", expected_voids=0.08)
    assert more.size == 0.16
    assert all("{" not in one.told + one.remedy for one in troubles(*TROUBLES))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("rain", "no-such-trouble"),
        ("set-aside=0.2", "bad-trouble"),
        ("set-aside=95 %", "bad-trouble"),
        ("set-aside=0 %", "bad-trouble"),
        ("unequal-scatter=50 %", "bad-trouble"),
        ("decimetre=3 %", "bad-trouble"),
    ],
)
def test_a_trouble_that_is_none_is_refused(text: str, code: str) -> None:
    with pytest.raises(OptionError) as caught:
        troubles("drift", text)
    assert [problem.code for problem in caught.value.problems] == [code]
    assert caught.value.problems[0].where == "--trouble"


def test_a_trouble_that_is_named_twice_is_refused() -> None:
    with pytest.raises(OptionError, match="set-aside twice"):
        troubles("set-aside", "set-aside=20 %")
