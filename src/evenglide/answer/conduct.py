"""How a sealed study was carried out, as the answer states it: set aside, conditions, wear, guesses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.claims import interval_of
from evenglide.analysis.variants import wear_of
from evenglide.answer.results import ConditionRange, Guesses, SetAsideCount, Wear
from evenglide.fieldlog.state import State
from evenglide.readings.from_log import LogReadings
from evenglide.study.study import Study


def set_aside_counts(study: Study, readings: LogReadings, state: State) -> tuple[SetAsideCount, ...]:
    """Count the launches set aside by cause and treatment, causes of the sealed list first."""
    launches = readings.launches
    if launches is None:
        return ()
    met = [cause for cause, void in zip(launches.cause, launches.void, strict=True) if void]
    causes = dict.fromkeys([*(reason for reason in study.void_reasons if reason in met), *met])
    return tuple(_counted(cause, study, readings=readings, state=state) for cause in causes)


def condition_ranges(state: State) -> tuple[ConditionRange, ...]:
    """Smallest and largest value of each condition that was noted, and the words that were."""
    noted: dict[tuple[str, str | None], list[tuple[float | None, str]]] = {}
    for when in state.conditions:
        key = (when.said.name, when.said.unit)
        noted.setdefault(key, []).append((when.said.value, when.said.words))
    return tuple(
        ConditionRange(
            name=name,
            unit=unit,
            least=min((value for value, _ in told if value is not None), default=None),
            most=max((value for value, _ in told if value is not None), default=None),
            words=tuple(dict.fromkeys(words for _, words in told if words)),
        )
        for (name, unit), told in noted.items()
    )


def places_and_skies(state: State) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Words for the place and for sky and wind as outings began; who was there is nobody's business."""
    places = (one.said.place.strip() for one in state.sessions)
    skies = (one.said.weather.strip() for one in state.sessions)
    return tuple(dict.fromkeys(filter(None, places))), tuple(dict.fromkeys(filter(None, skies)))


def wear_on(cases: Sequence[SurfaceCase], readings: LogReadings, *, level: float) -> tuple[Wear, ...]:
    """Change per launch since preparation on each surface, and how many wear checks were read there."""
    return tuple(_wear(case, readings, level) for case in cases)


def guesses_of(readings: LogReadings, state: State) -> Guesses | None:
    """Count right and wrong guesses at what a preparation carried; None where nobody guessed.

    The last word of each person on a preparation counts; one that names no treatment is no guess.
    """
    carried = dict(carried_treatments(readings))
    names = set(carried.values())
    last = {(when.said.who, when.said.preparation): when.said for when in state.guesses}
    told = [one for one in last.values() if one.preparation in carried and one.treatment in names]
    if not told:
        return None
    right = sum(carried[guess.preparation] == guess.treatment for guess in told)
    return Guesses(right=right, wrong=len(told) - right)


def carried_treatments(readings: LogReadings) -> Iterator[tuple[str, str]]:
    """Give each preparation that was launched and the treatment it carried."""
    launches = readings.launches
    if launches is None:
        return
    for preparation, treatment in zip(launches.preparation.codes, launches.treatment.codes, strict=True):
        yield launches.preparation.labels[preparation], launches.treatment.labels[treatment]


def _counted(cause: str, study: Study, *, readings: LogReadings, state: State) -> SetAsideCount:
    launches = readings.launches
    assert launches is not None
    rows = [
        row
        for row, (told, void) in enumerate(zip(launches.cause, launches.void, strict=True))
        if void and told == cause
    ]
    treatments = [launches.treatment.labels[launches.treatment.codes[row]] for row in rows]
    causes = [state.launches[readings.numbers[row]].set_aside for row in rows]
    known = [one.distance_known for one in causes if one is not None]
    return SetAsideCount(
        cause=cause,
        treatments={name: treatments.count(name) for name in launches.treatment.labels},
        value_seen=known.count(True),
        value_unsaid=known.count(None),
        listed=cause in study.void_reasons,
    )


def _wear(case: SurfaceCase, readings: LogReadings, level: float) -> Wear:
    surface = case.launches.surface.labels[case.surface]
    checks = sum(one.kind == "wear check" and one.surface == surface for one in readings.apart)
    wear = wear_of(case)
    return Wear(
        surface=surface,
        per_launch=wear.estimate,
        checks=checks,
        se=wear.se,
        df=wear.df,
        interval=interval_of(wear, level / 2),
    )
