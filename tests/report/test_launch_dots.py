from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from evenglide.readings.observations import observe
from evenglide.report.figures import aside_words, pegs_finding
from evenglide.report.launch_dots import CROSSED, NARROW, PEG, TICK, WIDE, launch_chart, thinned
from evenglide.report.pen import Spec, shortened
from evenglide.report.preparations import Preparation, preparations_on, round_name
from tests.report import made_up

LAUNCHES = made_up.launches()
PREPARATIONS = preparations_on(LAUNCHES, 0, scale="ratio")


def values(chart: Spec, shape: str) -> list[dict[str, float]]:
    layers = chart["layer"]
    assert isinstance(layers, list)
    return [row for layer in layers if layer["mark"].get("shape") == shape for row in layer["data"]["values"]]


def texts_of(chart: Spec) -> list[str]:
    layers = chart["layer"]
    assert isinstance(layers, list)
    return [row["text"] for layer in layers for row in layer["data"]["values"] if "text" in row]


def test_every_launch_of_the_surface_is_there_once() -> None:
    rows = sorted(launch.row for one in PREPARATIONS for launch in one.launches)
    assert rows == LAUNCHES.row[LAUNCHES.surface.codes == 0].tolist()


def test_a_preparation_gave_what_the_analysis_uses() -> None:
    """Geometric mean of the valid launches: recomputed here from the readings."""
    for one in PREPARATIONS:
        logs = [math.log(launch.value) for launch in one.valid if launch.value is not None]
        assert one.value == pytest.approx(math.exp(sum(logs) / len(logs)), rel=1e-12)
    seen = observe(LAUNCHES, 0, scale="ratio")
    assert len(seen.value) == len(PREPARATIONS)


def test_launches_stand_in_time_order_within_rounds() -> None:
    blocks = [one.block for one in PREPARATIONS]
    assert blocks == sorted(blocks, key=int)
    for one in PREPARATIONS:
        assert [launch.row for launch in one.launches] == sorted(launch.row for launch in one.launches)


def test_the_order_column_wins_over_the_order_of_rows() -> None:
    backwards = replace(LAUNCHES, order=-LAUNCHES.row.astype(float))
    first = preparations_on(backwards, 0, scale="ratio")[0]
    assert first.block == "10"
    assert first.launches[0].row > first.launches[-1].row


@pytest.mark.parametrize("frame", [WIDE, NARROW])
def test_dots_pegs_and_launches_set_aside(frame: object) -> None:
    chart = launch_chart(PREPARATIONS, frame=frame, axis_title="distance, m")  # type: ignore[arg-type]
    here = LAUNCHES.surface.codes == 0
    valid = here & ~LAUNCHES.void
    dots = values(chart, "circle") + values(chart, "triangle-up")
    assert sorted(dot["at"] for dot in dots) == sorted(LAUNCHES.value[valid].tolist())
    assert len(values(chart, PEG)) == len(PREPARATIONS)
    assert len(values(chart, TICK)) == int((LAUNCHES.at_least & valid).sum())
    assert len(values(chart, CROSSED)) == int((here & LAUNCHES.void).sum())


def test_a_launch_set_aside_without_a_reading_is_drawn_at_the_left_and_counted() -> None:
    rows = np.flatnonzero((LAUNCHES.surface.codes == 0) & LAUNCHES.void)
    value = LAUNCHES.value.copy()
    value[rows] = math.nan
    unread = preparations_on(replace(LAUNCHES, value=value), 0, scale="ratio")
    chart = launch_chart(unread, frame=WIDE, axis_title="distance, m")
    crosses = sorted(cross["at"] for cross in values(chart, CROSSED))
    assert len(crosses) == len(rows) > 1
    here = value[LAUNCHES.surface.codes == 0]
    assert crosses[0] < np.nanmin(here)
    assert crosses[-1] - crosses[0] < 0.1 * (np.nanmax(here) - np.nanmin(here))
    assert f"{len(rows)} without a reading" in texts_of(chart)
    assert texts_of(chart).count("set aside") == 1


def test_many_without_a_reading_are_counted_not_drawn_one_by_one() -> None:
    void = LAUNCHES.surface.codes == 0
    void = void & (np.arange(len(void)) % 3 == 0)
    value = np.where(void, math.nan, LAUNCHES.value)
    cause = tuple("nose under the snow" if aside else "" for aside in void)
    many = preparations_on(replace(LAUNCHES, void=void, value=value, cause=cause), 0, scale="ratio")
    chart = launch_chart(many, frame=NARROW, axis_title="distance, m")
    assert len(values(chart, CROSSED)) == 12
    assert f"{int(void.sum())} without a reading" in texts_of(chart)


def test_what_was_set_aside_is_told_by_cause_and_treatment() -> None:
    told = aside_words(PREPARATIONS).replace("\u00a0", " ")
    here = (LAUNCHES.surface.codes == 0) & LAUNCHES.void
    assert told.startswith(f"{int(here.sum())} set aside. ")
    for cause in {LAUNCHES.cause[row] for row in np.flatnonzero(here)}:
        rows = [row for row in np.flatnonzero(here) if LAUNCHES.cause[row] == cause]
        assert f"{cause}: {len(rows)} (".lower() in told.lower()
    assert aside_words([replace(one, launches=one.valid) for one in PREPARATIONS]) == ""


def test_tall_pictures_have_their_axis_at_both_ends() -> None:
    def axis(preparations: Sequence[Preparation]) -> list[float]:
        layers = launch_chart(preparations, frame=WIDE, axis_title="distance, m")["layer"]
        assert isinstance(layers, list)
        return sorted({row["y"] for row in layers[1]["data"]["values"]})

    assert len(axis(PREPARATIONS)) == 2
    assert len(axis(PREPARATIONS[:6])) == 1


def test_launches_set_aside_lie_below_all_others() -> None:
    chart = launch_chart(PREPARATIONS, frame=WIDE, axis_title="distance, m")
    lowest = max(row["y"] for shape in ("circle", "triangle-up", PEG) for row in values(chart, shape))
    assert all(row["y"] > lowest for row in values(chart, CROSSED))
    assert values(chart, CROSSED)


@pytest.mark.parametrize("budget", [1, 7, 50, 117])
def test_thinning_draws_just_as_many_spread_over_preparations(budget: int) -> None:
    drawn = thinned(PREPARATIONS, budget=budget)
    assert sum(len(launches) for _, launches in drawn) == budget
    if budget >= 2 * len(PREPARATIONS):
        assert all(launches for _, launches in drawn)


def test_many_preparations_stay_on_one_sheet() -> None:
    crowd = PREPARATIONS * 200
    chart = launch_chart(crowd, frame=WIDE, axis_title="distance, m", budget=500)
    assert isinstance(chart["height"], float)
    assert chart["height"] < 2000
    layers = chart["layer"]
    assert isinstance(layers, list)
    texts = texts_of(chart)
    assert texts.count("bare") == texts.count("paraffin rub") == 1  # a key, not a name in every row


def test_the_finding_counts_rounds() -> None:
    told = pegs_finding(PREPARATIONS)
    by_round: dict[str, dict[int, float]] = {}
    for one in PREPARATIONS:
        assert one.value is not None
        by_round.setdefault(one.block, {})[one.treatment] = one.value
    beyond = sum(pair[1] > pair[0] for pair in by_round.values())
    assert told.replace("\u00a0", " ") == f"Paraffin rub stands beyond bare in {beyond} of 10 rounds"
    assert (
        pegs_finding([one for one in PREPARATIONS if one.treatment == 0]) == "No round holds both treatments"
    )


def test_launches_that_are_preparations_of_their_own() -> None:
    count = len(LAUNCHES.value)
    own = replace(
        LAUNCHES.preparation,
        labels=tuple(str(row) for row in range(count)),
        codes=np.arange(count),
        named=False,
    )
    rows = preparations_on(replace(LAUNCHES, preparation=own), 0, scale="ratio")
    assert all(len(one.launches) == 1 for one in rows)
    assert len(rows) == int((LAUNCHES.surface.codes == 0).sum())


def test_rounds_are_called_by_their_names() -> None:
    assert [round_name(block) for block in ("3", "B", "Saturday morning", "")] == [
        "round 3",
        "round B",
        "Saturday morning",
        "",
    ]


def test_long_names_are_cut_to_their_room() -> None:
    long = replace(LAUNCHES, treatment=replace(LAUNCHES.treatment, labels=("bare", "W" * 60)))
    chart = launch_chart(preparations_on(long, 0, scale="ratio"), frame=NARROW, axis_title="distance, m")
    layers = chart["layer"]
    assert isinstance(layers, list)
    texts = [row["text"] for layer in layers for row in layer["data"]["values"] if "text" in row]
    assert any(text.startswith("WW") and text.endswith("…") and len(text) < 12 for text in texts)
    assert shortened("short", room=92) == "short"
    assert shortened("漢" * 20, room=92) == "漢" * 6 + "…"
