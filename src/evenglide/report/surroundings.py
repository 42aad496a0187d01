"""What was noted of the surroundings, drawn over the launches: one small curve for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.fieldlog.state import State
from evenglide.report.headline import first_upper
from evenglide.report.look import CIRCLE, LIGHT
from evenglide.report.pen import Ruler, Spec, numbers_at, picture, points, rule, words
from evenglide.show.numbers import plain, whole, with_unit
from evenglide.show.table import Table

DRAWN_FROM = 3
"""Values from which a picture tells more than words."""

HEIGHT, TOP, FOOT = 132.0, 22.0, 76.0
SIDE = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The values of one condition in the order in which they were noted.

    Parameters
    ----------
    name : str
    unit : str or None
    values : tuple of (int, float)
        Launch after which it was noted, and the value.
    """

    name: str
    unit: str | None
    values: tuple[tuple[int, float], ...]

    def written(self, value: float) -> str:
        """Write a value with its unit."""
        number = plain(value, digits=4)
        return with_unit(number, self.unit) if self.unit else number


def courses_of(state: State | None) -> tuple[Course, ...]:
    """Gather conditions with values enough to be drawn."""
    noted: dict[tuple[str, str | None], list[tuple[int, float]]] = {}
    for when in state.conditions if state is not None else ():
        if when.said.value is not None:
            noted.setdefault((when.said.name, when.said.unit), []).append(
                (when.after_launch, float(when.said.value))
            )
    return tuple(
        Course(name=name, unit=unit, values=tuple(sorted(values, key=lambda value: value[0])))
        for (name, unit), values in noted.items()
        if len(values) >= DRAWN_FROM
    )


def course_finding(course: Course) -> str:
    """Tell from where to where a condition went."""
    values = [value for _, value in course.values]
    least, most = min(values), max(values)
    if least == most:
        return f"{first_upper(course.name)} stayed at {course.written(least)}"
    low = plain(least, digits=4)
    return f"{first_upper(course.name)} lay between {low} and {course.written(most)}"


def course_chart(course: Course, *, width: float) -> Spec:
    """Draw a condition over the launches: a dot for each note, its value beside the first and extreme ones.

    Parameters
    ----------
    course : Course
    width : float
        Of the picture. [px]

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    first, last = course.values[0][0], max(course.values[-1][0], course.values[0][0] + 1)
    ruler = Ruler(low=float(first), high=float(last), left=SIDE, right=width - SIDE)
    placed = _placed(course.values)
    curve: Spec = {
        "data": {"values": [{"at": at, "y": depth} for at, depth in placed]},
        "mark": {"type": "line", "color": LIGHT["soft"], "strokeWidth": 1.25, "interpolate": "linear"},
        "encoding": ruler.along("at")
        | {"y": {"field": "y", "type": "quantitative", "scale": None, "axis": None}},
    }
    foot = FOOT + 34
    return picture(
        [
            rule(ruler.low, ruler.high, ruler, depth=foot, strokeWidth=1),
            curve,
            points(placed, ruler, shape=CIRCLE, size=30, fill=LIGHT["ink"], stroke=None),
            numbers_at(_named(course, placed), ruler, align="center", color=LIGHT["ink"]),
            words([(f"after launch {whole(first)}", foot + 13)], left=0, color=LIGHT["soft"]),
            words([(f"launch {whole(last)}", foot + 13)], left=width, align="right", color=LIGHT["soft"]),
        ],
        width=width,
        height=HEIGHT,
    )


def course_table(course: Course) -> Table:
    """Tabulate every value that was noted."""
    rows = tuple((whole(at), course.written(value)) for at, value in course.values)
    return Table(
        caption=f"{first_upper(course.name)}, as noted",
        columns=("after launch", course.name),
        rows=rows,
        align=("right", "right"),
    )


def _placed(values: Sequence[tuple[int, float]]) -> list[tuple[float, float]]:
    """Give each value its depth, the largest uppermost."""
    low, high = min(value for _, value in values), max(value for _, value in values)
    return [
        (float(at), FOOT - (FOOT - TOP) * ((value - low) / (high - low) if high > low else 0.5))
        for at, value in values
    ]


def _named(course: Course, placed: Sequence[tuple[float, float]]) -> list[tuple[float, float, str]]:
    """Write the largest value above its dot and the smallest below."""
    values = [value for _, value in course.values]
    least, most = values.index(min(values)), values.index(max(values))
    above = (placed[most][0], placed[most][1] - 13, course.written(values[most]))
    below = (placed[least][0], placed[least][1] + 15, course.written(values[least]))
    return [above] if least == most else [above, below]
