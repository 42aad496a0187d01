"""Pictures as a page holds them: drawn for wide and for narrow paper, with their table beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TypedDict

from markupsafe import Markup

from evenglide.answer.results import Answer, SurfaceAnswer
from evenglide.fieldlog.state import State
from evenglide.readings.launches import Launches
from evenglide.report.drawing import to_svg
from evenglide.report.findings import Finding
from evenglide.report.headline import first_upper
from evenglide.report.lanes import lane_chart, lane_of, shared_track, small_lane_chart
from evenglide.report.launch_dots import DRAWN_AT_MOST, NARROW, WIDE, launch_chart
from evenglide.report.otherwise import Otherwise, lines_track
from evenglide.report.pen import Ruler, Spec
from evenglide.report.preparations import Preparation, preparations_on
from evenglide.report.scatter import scatter_chart, scatter_finding, scatters_of
from evenglide.report.sentences import tell
from evenglide.report.surroundings import Course, course_chart, course_finding, course_table, courses_of
from evenglide.report.tables import launches_table, preparations_table, response_words, scatter_table
from evenglide.show.numbers import NO_BREAK, count, whole
from evenglide.show.table import Table, html_table


class Measured(TypedDict):
    """What tables of readings say at their heads."""

    name: str
    response: str
    unit: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture with its finding, its words and its tables.

    Parameters
    ----------
    title : str
        The finding.
    note : str
        How to read it; "" where that is clear.
    aside : str
        What was set aside and why; "" where nothing was.
    wide, narrow : Markup
        SVG for paper and desk, and for a phone.
    tables : tuple of (str, Markup)
        What a table holds, and the table.
    """

    title: str
    note: str
    aside: str
    wide: Markup
    narrow: Markup
    tables: tuple[tuple[str, Markup], ...]


def draw_lanes(findings: Sequence[Finding]) -> tuple[list[Markup], Ruler]:
    """Draw the lane of each finding, all over one range."""
    lanes = [lane_of(finding) for finding in findings]
    track = shared_track(lanes, percent=findings[0].answer.scale == "ratio")
    drawings = [
        _svg(
            lane_chart(lane, track),
            identity=f"lane-{place}",
            title=f"{finding.name}: {tell(finding).lead.rstrip('.').lower()}",
            description=_lane_words(finding),
        )
        for place, (finding, lane) in enumerate(zip(findings, lanes, strict=True), start=1)
    ]
    return drawings, track


def draw_otherwise(lines: Sequence[Otherwise], *, identity: str, percent: bool) -> list[Markup | None]:
    """Draw the small lane of each line that has one."""
    track = lines_track(lines, percent=percent)
    return [
        None
        if line.lane is None
        else _svg(
            small_lane_chart(line.lane, track),
            identity=f"{identity}-{place}",
            title=line.text,
            description=f"{line.fits}; {line.verdict}",
        )
        for place, line in enumerate(lines, start=1)
    ]


def launch_figures(answer: Answer, launches: Launches) -> list[tuple[str, Figure]]:
    """Draw every launch, surface by surface, with the name of the surface."""
    known = {name: code for code, name in enumerate(launches.surface.labels)}
    gathered = []
    for surface in answer.surfaces:
        code = 0 if surface.surface is None else known[surface.surface]
        gathered.append((surface, preparations_on(launches, code, scale=answer.scale)))
    total = sum(len(one.launches) for _, preparations in gathered for one in preparations)
    figures = []
    for place, (surface, preparations) in enumerate(gathered, start=1):
        own = sum(len(one.launches) for one in preparations)
        budget = own if total <= DRAWN_AT_MOST else max(1, DRAWN_AT_MOST * own // total)
        figure = _launch_figure(
            surface, preparations, launches=launches, budget=budget, identity=f"launches-{place}"
        )
        figures.append((surface.surface or "", figure))
    return figures


def scatter_figure(answer: Answer) -> Figure:
    """Draw where the scatter comes from."""
    title = scatter_finding(scatters_of(answer))
    table = scatter_table(answer)
    wide, narrow = _both(
        lambda width: scatter_chart(answer, width=width),
        identity="scatter",
        title=title,
        description="Two lengths for each treatment on each surface: the standard deviation of preparations, "
        "and that of launches on one preparation. The numbers stand in the table.",
    )
    return Figure(
        title=title, note="", aside="", wide=wide, narrow=narrow, tables=(("the lengths", _table(table)),)
    )


def course_figures(state: State | None) -> list[Figure]:
    """Draw what was noted of the surroundings, each condition for itself."""
    figures = []
    for place, course in enumerate(courses_of(state), start=1):
        title = course_finding(course)

        def draw(width: float, course: Course = course) -> Spec:
            return course_chart(course, width=width)

        wide, narrow = _both(
            draw,
            identity=f"course-{place}",
            title=title,
            description="A dot for each note, over the launches. The values stand in the table.",
        )
        table = course_table(course)
        figures.append(
            Figure(
                title=title,
                note="",
                aside="",
                wide=wide,
                narrow=narrow,
                tables=((f"{course.name} as noted", _table(table)),),
            )
        )
    return figures


def _launch_figure(
    surface: SurfaceAnswer,
    preparations: Sequence[Preparation],
    *,
    launches: Launches,
    budget: int,
    identity: str,
) -> Figure:
    name = surface.surface or ""
    title = pegs_finding(preparations)
    axis = response_words(launches.response, launches.unit)
    frames = {WIDE.width: WIDE, NARROW.width: NARROW}
    wide, narrow = _both(
        lambda width: launch_chart(preparations, frame=frames[width], axis_title=axis, budget=budget),
        identity=identity,
        title=f"{name}: {title}" if name else title,
        description="Every launch as a dot where it stopped, one row for each preparation, round by round; "
        "a peg stands at what the preparation gave. The numbers stand in the tables.",
    )
    measured: Measured = {"name": name, "response": launches.response, "unit": launches.unit}
    gave = preparations_table(preparations, **measured)
    every = launches_table(preparations, **measured, decimals=launches.decimals)
    tables = (
        (f"what each of {count(len(preparations), 'preparation')} gave", _table(gave)),
        ("every launch", _table(every)),
    )
    return Figure(
        title=title,
        note=_drawn_words(preparations, budget),
        aside=aside_words(preparations),
        wide=wide,
        narrow=narrow,
        tables=tables,
    )


def aside_words(preparations: Sequence[Preparation]) -> str:
    """Tell what was set aside on a surface, cause by cause and by treatment; "" where nothing was.

    For example ``3 set aside. Nose under the snow: 2 (1 bare, 1 rub); rig moved: 1 (bare).``
    """
    causes: dict[str, dict[str, int]] = {}
    for one in preparations:
        for launch in one.launches:
            if launch.cause is not None:
                own = causes.setdefault(launch.cause, {})
                own[one.treatment_name] = own.get(one.treatment_name, 0) + 1
    if not causes:
        return ""
    order = {one.treatment_name: one.treatment for one in preparations}
    told = []
    for cause, own in causes.items():
        names = sorted(own, key=order.__getitem__)
        by = names if len(names) == 1 else [f"{whole(own[name])}{NO_BREAK}{name}" for name in names]
        told.append(f"{cause}: {whole(sum(own.values()))} ({', '.join(by)})")
    total = sum(sum(own.values()) for own in causes.values())
    return f"{whole(total)} set aside. {first_upper('; '.join(told))}."


def pegs_finding(preparations: Sequence[Preparation]) -> str:
    """Tell in how many rounds each treatment's pegs stand beyond those of the reference."""
    rounds: dict[str, dict[int, list[float]]] = {}
    names: dict[int, str] = {}
    for one in preparations:
        names[one.treatment] = one.treatment_name
        if one.value is not None:
            rounds.setdefault(one.block, {}).setdefault(one.treatment, []).append(one.value)
    told = []
    for code in sorted(names):
        both = [values for values in rounds.values() if code in values and 0 in values]
        if code == 0 or not both:
            continue
        if len(both) == 1:
            told.append(_among(names[code], names[0], values=both[0][code], others=both[0][0]))
            continue
        beyond = sum(_mean(values[code]) > _mean(values[0]) for values in both)
        told.append(f"{names[code]} stands beyond {names[0]} in {beyond} of {count(len(both), 'round')}")
    return first_upper("; ".join(told)) if told else "No round holds both treatments"


def _among(name: str, reference: str, *, values: Sequence[float], others: Sequence[float]) -> str:
    """Tell how many pegs stand beyond the middle one of the reference, where no rounds pair them."""
    beyond = sum(value > median(others) for value in values)
    pegs = count(len(values), "peg")
    return f"{whole(beyond)} of {pegs} of {name} stand beyond the middle peg of {reference}"


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _drawn_words(preparations: Sequence[Preparation], budget: int) -> str:
    total = sum(len(one.launches) for one in preparations)
    if total <= budget:
        return ""
    return (
        f"{whole(budget)} of {whole(total)} launches are drawn, spread evenly over the preparations; "
        "the pegs rest on all."
    )


def _lane_words(finding: Finding) -> str:
    margin = f" Too small to matter: {finding.effects.band_words()}." if finding.surface.margin else ""
    return f"{tell(finding).text}{margin}"


def _both(
    chart: Callable[[float], Spec], *, identity: str, title: str, description: str
) -> tuple[Markup, Markup]:
    """Draw a chart for both widths of paper."""
    wide, narrow = (
        _svg(chart(frame.width), identity=f"{identity}-{name}", title=title, description=description)
        for name, frame in (("wide", WIDE), ("narrow", NARROW))
    )
    return wide, narrow


def _svg(spec: Spec, *, identity: str, title: str, description: str) -> Markup:
    # The drawing comes from our own renderer, which escapes the texts it is given.
    return Markup(to_svg(spec, identity=identity, title=title, description=description))


def _table(table: Table) -> Markup:
    # Every cell was escaped where the table was written out.
    return Markup(html_table(table))
