"""The facts behind every picture, as tables of words and numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from evenglide.answer.results import Answer, TreatmentFacts
from evenglide.report.findings import Finding
from evenglide.report.preparations import Preparation, round_name
from evenglide.report.scatter import scatter_unit, scatters_of
from evenglide.report.sentences import tell
from evenglide.show.numbers import NO_BREAK, decimals_for, fixed, percent_scatter, rounded, whole, with_unit
from evenglide.show.table import Table

NOTHING = "–"
LISTED_AT_MOST = 2_000
"""Rows of a table on a page; the table that was judged holds the rest."""


def response_words(name: str, unit: str | None) -> str:
    """Name what was measured, with its unit once: ``distance, m`` for a column ``distance_m``."""
    if not unit:
        return f"{name}, no unit named"
    plain_name = name.strip()
    for ending in (f"_{unit}", f" {unit}", f"({unit})", f"[{unit}]"):
        plain_name = plain_name.removesuffix(ending).rstrip(" _,")
    return f"{plain_name.replace('_', ' ') or name}, {unit}"


def measured_words(finding: Finding) -> str:
    """Say how a surface was measured and how far the reference went: ``run-out, 6.4 m when bare``."""
    facts, surface, response = finding.reference, finding.surface, finding.answer.response
    how = surface.mark
    if surface.after_s is not None:
        how = f"{how}, {rounded(surface.after_s, None, unit='s')} after release"
    if facts is None or facts.mean is None:
        return how if finding.wording.distance else response.name
    mean = mean_words(finding.answer, facts)
    if response.unit is None:
        mean = f"{response.name} {mean}"
    return (
        f"{how}, {mean} when {facts.treatment}"
        if finding.wording.distance
        else f"{mean} when {facts.treatment}"
    )


def mean_words(answer: Answer, facts: TreatmentFacts) -> str:
    """Write the mean of a treatment, rounded by its standard error; without a unit where none is known."""
    if facts.mean is None:
        return NOTHING
    error = None
    if facts.sd_preparations is not None and facts.preparations > 0:
        error = facts.sd_preparations / facts.preparations**0.5
        error *= abs(facts.mean) if answer.scale == "ratio" else 1.0
    written = rounded(facts.mean, error, unit=answer.response.unit)
    return written if answer.response.unit else written.split(NO_BREAK)[0]


def _reading(value: float, decimals: int, unit: str | None) -> str:
    """Write a reading; its unit, where nobody named it, is told by the head of the column."""
    return fixed(value, decimals) if unit is None else with_unit(fixed(value, decimals), unit)


def lanes_table(findings: Sequence[Finding]) -> Table:
    """Tabulate what the lanes show."""
    rows = []
    for finding in findings:
        effects, contrast, bar = finding.effects, finding.contrast, finding.bar
        estimate = NOTHING
        if contrast.estimate is not None:
            wide = bar if bar and bar[0] is not None and bar[1] is not None else (contrast.estimate, 0.0)
            assert wide[0] is not None and wide[1] is not None
            estimate = effects.one(contrast.estimate, decimals=effects.decimals(wide[0], wide[1]))
        fits = effects.range(bar) if bar is not None else NOTHING
        matters = effects.edges_words() if effects.margin is not None else NOTHING
        rows.append((finding.name, tell(finding).lead.rstrip("."), estimate, fits, matters))
    return Table(
        caption="What the lanes show: answer, best estimate, what still fits and what would matter",
        columns=("lane", "answer", "best estimate", "still fits", "would matter"),
        rows=tuple(rows),
    )


def preparations_table(
    preparations: Sequence[Preparation], *, name: str, response: str, unit: str | None
) -> Table:
    """Tabulate what each preparation gave.

    Parameters
    ----------
    preparations : sequence of Preparation
        On one surface.
    name : str
        Of the surface, for the caption; "" without one.
    response : str
        What was measured; stands at the head where no unit is known.
    unit : str or None
        Of the response.
    """
    decimals = _decimals_of(preparations)
    rows = tuple(_preparation_row(one, decimals, unit) for one in preparations[:LISTED_AT_MOST])
    on = f" on {name}" if name else ""
    cut = (
        f" (the first {whole(LISTED_AT_MOST)} of {whole(len(preparations))})"
        if len(rows) < len(preparations)
        else ""
    )
    return Table(
        caption=f"What each preparation gave{on}{cut}",
        columns=(
            "preparation",
            "treatment",
            _head("gave", response, unit),
            "launches",
            "at least",
            "set aside",
        ),
        rows=rows,
        align=("left", "left", "right", "right", "right", "right"),
    )


def _head(what: str, response: str, unit: str | None) -> str:
    return what if unit else f"{what}, {response}"


def preparation_name(one: Preparation) -> str:
    """Name a preparation by round and gear, or by its own label where it has neither."""
    parts = [round_name(one.block), one.item]
    named = ", ".join(part for part in parts if part)
    return named or one.label or (f"row {one.launches[0].row}" if one.launches else "")


def _preparation_row(one: Preparation, decimals: int, unit: str | None) -> tuple[str, ...]:
    valid = one.valid
    at_least = sum(launch.at_least for launch in valid)
    return (
        preparation_name(one),
        one.treatment_name,
        NOTHING if one.value is None else _reading(one.value, decimals, unit),
        whole(len(valid)),
        whole(at_least) if at_least else NOTHING,
        whole(len(one.launches) - len(valid)) if len(valid) < len(one.launches) else NOTHING,
    )


def _decimals_of(preparations: Sequence[Preparation]) -> int:
    """Decimals by the scatter of the preparations: each is known no better than that."""
    values = [one.value for one in preparations if one.value is not None]
    spread = max(values, default=0.0) - min(values, default=0.0)
    return min(max(decimals_for(spread / 4), 0), 4) if spread > 0 else 2


def launches_table(
    preparations: Sequence[Preparation], *, name: str, response: str, unit: str | None, decimals: int
) -> Table:
    """Tabulate every launch on a surface, in time order within its preparation; parameters as above."""
    total = sum(len(one.launches) for one in preparations)
    rows = tuple(islice(_launch_rows(preparations, decimals, unit), LISTED_AT_MOST))
    on = f" on {name}" if name else ""
    cut = f" (the first {whole(LISTED_AT_MOST)} of {whole(total)})" if total > LISTED_AT_MOST else ""
    return Table(
        caption=f"Every launch{on}{cut}",
        columns=("preparation", "treatment", "launch", _head("reading", response, unit), "remark"),
        rows=rows,
        align=("left", "left", "right", "right", "left"),
    )


def _launch_rows(
    preparations: Sequence[Preparation], decimals: int, unit: str | None
) -> Iterator[tuple[str, ...]]:
    for one in preparations:
        for place, launch in enumerate(one.launches, start=1):
            value = NOTHING if launch.value is None else _reading(launch.value, decimals, unit)
            remark = "at least" if launch.at_least else ""
            if launch.cause is not None:
                remark = f"set aside: {launch.cause}"
            yield preparation_name(one), one.treatment_name, whole(place), value, remark


def scatter_table(answer: Answer) -> Table:
    """Tabulate both scatters of every surface, and what launches add to the doubt about a preparation."""
    unit = scatter_unit(answer)
    rows = tuple(
        (
            one.surface or "all launches",
            _length(one.preparations, unit),
            _length(one.launches, unit),
            NOTHING if one.share is None else with_unit(fixed(100 * min(1.0, one.share), 0), "%"),
        )
        for one in scatters_of(answer)
    )
    return Table(
        caption="Scatter (standard deviation) of preparations, rounds, gear and launches taken out, and of "
        "launches on one",
        columns=("surface", "preparations", "launches on one", "launches’ share of the variance"),
        rows=rows,
        align=("left", "right", "right", "right"),
    )


def _length(length: float | None, unit: str | None) -> str:
    return NOTHING if length is None else rounded(length, length / 10 or None, unit=unit)


def treatments_table(answer: Answer) -> Table:
    """Tabulate counts, mean and scatter of every treatment on every surface, for the referee."""
    rows = []
    for surface in answer.surfaces:
        for facts in surface.treatments:
            name = f"{surface.surface}: {facts.treatment}" if surface.surface else facts.treatment
            counts = (facts.preparations, facts.launches, facts.voids, facts.at_least)
            scatter = [_scatter(answer, sd) for sd in (facts.sd_preparations, facts.sd_launches)]
            rows.append((name, *(whole(number) for number in counts), mean_words(answer, facts), *scatter))
    mean = "geometric mean" if answer.scale == "ratio" else "mean"
    mean = _head(mean, answer.response.name, answer.response.unit)
    return Table(
        caption="Counts, means and scatter of each treatment",
        columns=(
            "treatment",
            "preparations",
            "launches",
            "set aside",
            "at least",
            mean,
            "SD preparations",
            "SD launches",
        ),
        rows=tuple(rows),
        align=("left", *("right",) * 7),
    )


def _scatter(answer: Answer, sd: float | None) -> str:
    if sd is None:
        return NOTHING
    return _length(percent_scatter(sd), "%") if answer.scale == "ratio" else _length(sd, answer.response.unit)
