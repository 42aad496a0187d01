"""Readings of rehearsed studies: their scatter, their effect, and what each trouble does to them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenglide.plan.beliefs import ScatterBelief
from evenglide.rehearsal.drawing import Chunk, Drawn, draw
from evenglide.rehearsal.scatters import draw_scatters, supposed_scatter
from evenglide.rehearsal.staging import set_stage, without_last_outing
from evenglide.study.study import Item, Study, Treatment
from evenglide.typing import FloatArray
from tests.rehearsal.plans import BELIEF, a_study, planned, shared, troubles, truth

STUDIES = 2000
CHUNK = Chunk(seed=2, number=0, studies=STUDIES)
STILL = ScatterBelief(preparations=1e-12, launches=0.0, df=None)


def drawn(*names: str, study: Study | None = None, belief: ScatterBelief = BELIEF) -> Drawn:
    study = study or a_study()
    return draw(set_stage(study, planned(study)), CHUNK, belief=belief, troubles=troubles(*names))


def logs(found: Drawn, percent: float = 0.0) -> FloatArray:
    return np.log(found.readings(truth(found.stage.study, percent)))


def test_launches_and_preparations_scatter_as_believed() -> None:
    found = drawn()
    y, coat = logs(found), found.stage.coat
    within = y[coat == 0]
    assert within.var(axis=0, ddof=1).mean() == pytest.approx(0.06**2, rel=0.05)
    assert y[0].var() == pytest.approx(0.03**2 + 0.06**2, rel=0.1)
    assert np.mean(y) == pytest.approx(math.log(6.0), abs=0.001)


@pytest.mark.parametrize("part", [0.0, 0.8])
def test_a_preparation_carries_its_share_to_every_surface(part: float) -> None:
    belief = ScatterBelief(preparations=0.05, launches=0.001, df=None, shared_part=(part,))
    study = shared(a_study())
    found = drawn(study=study, belief=belief)
    y, stage = logs(found), found.stage
    here, there = (np.flatnonzero((stage.coat == 0) & (stage.surface == code))[0] for code in (0, 1))
    assert np.corrcoef(y[here], y[there])[0, 1] == pytest.approx(part, abs=0.06)


def test_scatter_is_as_uncertain_as_it_is_believed() -> None:
    """If s is worth nu df, then nu s^2 / tau^2 is chi-square on nu: mean nu, variance 2 nu."""
    belief = ScatterBelief(preparations=0.03, launches=0.06, df=6.0, shared_part=(0.0, 0.8))
    found = draw_scatters(belief, np.random.default_rng(1), studies=20_000)
    chi_square = 6.0 * 0.03**2 / found.preparations**2
    assert (chi_square.mean(), chi_square.var()) == pytest.approx((6.0, 12.0), rel=0.03)
    assert np.mean(found.together == 0.8) == pytest.approx(0.5, abs=0.02)
    told = supposed_scatter(belief, shared(a_study()), source="stated")
    assert told.low is not None and told.high is not None
    inside = (told.low < found.preparations) & (found.preparations < told.high)
    assert inside.mean() == pytest.approx(0.8, abs=0.01)
    assert supposed_scatter(belief, a_study(), source="stated").together == ()


def test_an_effect_moves_treated_launches_only() -> None:
    found = drawn(belief=STILL)
    y = logs(found, 8.0)[:, 0] - math.log(6.0)
    assert y[found.stage.treated] == pytest.approx(math.log(1.08), abs=1e-9)
    assert y[~found.stage.treated] == pytest.approx(0.0, abs=1e-9)


def test_treatments_that_stay_scatter_by_item() -> None:
    stays = (Treatment(name="bare", reference=True), Treatment(name="glass", removable=False))
    study = a_study(treatments=stays, items=tuple(Item(name=f"slider {at}") for at in range(1, 13)))
    stage = set_stage(study, planned(study))
    assert stage.coat.max() + 1 == 12 < len({row.preparation for row in stage.schedule.launches})


# ------------------------------------------------------------------------------------------- troubles


def test_voids_come_as_often_as_stated() -> None:
    void = drawn("set-aside=20 %").void
    assert void is not None and void.mean() == pytest.approx(0.2, abs=0.005)
    expected = drawn(belief=replace(BELIEF, voids=0.07)).void
    assert expected is not None and expected.mean() == pytest.approx(0.07, abs=0.005)
    assert drawn().void is None


def test_hopeful_voids_fall_on_short_treated_launches_only() -> None:
    found = drawn("wishful-set-aside=60 %")
    assert found.void is not None
    treated = found.stage.treated
    assert not found.void[~treated].any()
    assert found.void[treated].mean() == pytest.approx(0.6 * 0.158655, abs=0.004)
    y = logs(found)
    assert y[treated][found.void[treated]].mean() < y[treated][~found.void[treated]].mean() - 0.05


def test_drift_grows_over_each_outing() -> None:
    study = a_study()
    stage = set_stage(study, planned(study, outings=2))
    found = draw(stage, CHUNK, belief=STILL, troubles=troubles("drift=20 %"))
    y = logs(found)[:, 0] - math.log(6.0)
    outing = np.array([row.outing for row in stage.schedule.launches])
    for one in (1, 2):
        assert y[outing == one][[0, -1]] == pytest.approx([0.0, math.log(1.2)], abs=1e-9)
        assert (np.diff(y[outing == one]) > 0).all()


def test_wear_takes_its_share_of_what_is_left() -> None:
    found = drawn("wear=5 %", belief=STILL)
    first = np.flatnonzero(
        found.stage.treated & (found.stage.coat == found.stage.coat[found.stage.treated][0])
    )
    y = logs(found, 10.0)[first, 0] - math.log(6.0)
    assert y == pytest.approx(math.log(1.1) * 0.95 ** np.arange(len(first)), abs=1e-9)


def test_one_item_is_faster() -> None:
    found = drawn("faster-item=12 %", belief=STILL)
    y = logs(found)[:, 0] - math.log(6.0)
    assert y[found.stage.item == 0] == pytest.approx(math.log(1.12), abs=1e-9)
    assert y[found.stage.item == 1] == pytest.approx(0.0, abs=1e-9)


def test_treated_preparations_scatter_more() -> None:
    belief = ScatterBelief(preparations=0.03, launches=0.0, df=None)
    found = drawn("unequal-scatter=3", belief=belief)
    y, treated = logs(found), found.stage.treated
    assert y[treated].std() / y[~treated].std() == pytest.approx(3.0, rel=0.05)


def test_outliers_scatter_five_times_as_much() -> None:
    belief = ScatterBelief(preparations=0.0, launches=0.02, df=None)
    y = logs(drawn("outliers=10 %", belief=belief))
    assert y.var() / 0.02**2 == pytest.approx(0.9 + 0.1 * 25.0, rel=0.05)
    assert drawn("outliers").scatter.shape == drawn().scatter.shape


@pytest.mark.parametrize(("name", "step"), [("centimetre", 0.01), ("decimetre", 0.1)])
def test_readings_are_rounded(name: str, step: float) -> None:
    plain, coarse = drawn().readings(truth(a_study(), 0.0)), drawn(name).readings(truth(a_study(), 0.0))
    assert np.allclose(coarse / step, np.round(plain / step), rtol=0, atol=1e-9)
    feet = drawn(name, study=a_study(unit="ft")).readings(truth(a_study(), 0.0))
    steps = feet * 0.3048 / step
    assert np.allclose(steps, np.round(steps), rtol=0, atol=1e-9)
    assert feet.mean() == pytest.approx(6.0 / 0.3048, rel=0.01)


def test_the_lane_ends_where_so_many_launches_reach_it() -> None:
    found = drawn("lane-end=25 %")
    read = found.readings(truth(a_study(), 0.0))
    assert found.lane is not None and read.max() == found.lane
    assert np.mean(read == found.lane) == pytest.approx(0.25, abs=0.01)


def test_a_spoilt_outing_takes_its_launches() -> None:
    study = a_study()
    schedule = planned(study, outings=3)
    left = without_last_outing(schedule)
    assert left is not None
    assert {row.outing for row in left.launches} == {1, 2}
    assert left.launches == tuple(row for row in schedule.launches if row.outing < 3)
    assert without_last_outing(planned(study)) is None


def test_luck_does_not_change_with_trouble() -> None:
    """A trouble draws from a source of its own: all other luck stays as it is."""
    calm, rough = drawn(), drawn("set-aside", "wishful-set-aside", "drift", "wear")
    assert np.array_equal(calm.scatter, rough.scatter)


def test_differences_are_drawn_in_the_unit() -> None:
    study = a_study(scale="difference", margin=(-0.25, 0.25))
    belief = ScatterBelief(preparations=0.1, launches=0.2, df=None)
    found = drawn("drift=10 %", study=study, belief=belief)
    none = {surface.name: 0.0 for surface in study.surfaces}
    low = found.readings(replace(truth(study, 0.0), effects=none))
    high = found.readings(replace(truth(study, 0.0), effects=dict.fromkeys(none, 0.5)))
    assert (high - low)[found.stage.treated] == pytest.approx(0.5)
    assert found.shift[[0, -1]] == pytest.approx([6.0, 6.6])
