"""What each preparation gave on one surface: its launches in time order, and its value.

Put together once for the picture of all launches and for the tables beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.readings.launches import Launches
from evenglide.readings.observations import observe
from evenglide.typing import IntArray, Scale

LONGEST_NUMBER = 4
"""Labels of rounds up to so many characters are taken for numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Launch:
    """One launch as it is drawn and listed.

    Parameters
    ----------
    place : float
        Where it falls in the course of its preparation, from 0 to 1.
    value : float or None
        Reading in the response's unit; None where a launch set aside has none.
    row : int
        Row of the table.
    cause : str or None
        Why it was set aside; None if it was not.
    at_least : bool
        The reading is a lower bound.
    """

    place: float
    value: float | None
    row: int
    cause: str | None
    at_least: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """One preparation on one surface.

    Parameters
    ----------
    treatment : int
        Place of the treatment, the reference being 0.
    treatment_name, block, label, item : str
        Names; "" where the table has no such column.
    value : float or None
        What the preparation gave, in the response's unit; None where it has no value.
    launches : tuple of Launch
        In time order, those set aside among them.
    """

    treatment: int
    treatment_name: str
    block: str
    label: str
    item: str
    value: float | None
    launches: tuple[Launch, ...]

    @property
    def valid(self) -> tuple[Launch, ...]:
        """Launches that count."""
        return tuple(launch for launch in self.launches if launch.cause is None)


def round_name(block: str) -> str:
    """Name a round: ``round 3`` for a number or a letter, its own name where it has one."""
    return f"round {block}" if 0 < len(block) <= LONGEST_NUMBER else block


def preparations_on(launches: Launches, surface: int, *, scale: Scale) -> tuple[Preparation, ...]:
    """Gather the preparations of one surface, round by round and in time order within a round.

    Parameters
    ----------
    launches : Launches
    surface : int
        Code of the surface.
    scale : {"ratio", "difference"}
        Scale on which a preparation's launches were averaged.

    Returns
    -------
    tuple of Preparation
    """
    rows = np.flatnonzero(launches.surface.codes == surface)
    time = launches.row if launches.order is None else launches.order
    rows = rows[np.argsort(time[rows], kind="stable")]
    values = _values(launches, surface, scale)
    codes = launches.preparation.codes[rows]
    order = np.argsort(codes, kind="stable")
    met, first = np.unique(codes[order], return_index=True)
    own = np.split(rows[order], first[1:]) if len(met) else []
    block_of = launches.block.codes
    blocks = {code: place for place, code in enumerate(dict.fromkeys(block_of[rows].tolist()))}
    by_round = sorted(
        zip(met.tolist(), own, strict=True),
        key=lambda pair: (blocks[int(block_of[pair[1][0]])], time[pair[1][0]]),
    )
    return tuple(_preparation(launches, mine, values.get(code)) for code, mine in by_round)


def _values(launches: Launches, surface: int, scale: Scale) -> dict[int, float]:
    """Value of each preparation, back in the response's unit."""
    seen = observe(launches, surface, scale=scale)
    value = seen.value + seen.origin
    value = np.exp(value) if scale == "ratio" else value
    return dict(zip(seen.preparation.tolist(), value.tolist(), strict=True))


def _preparation(launches: Launches, rows: IntArray, value: float | None) -> Preparation:
    first = rows[0]
    named = {
        "block": launches.block,
        "label": launches.preparation,
        "item": launches.item,
    }
    treatment = int(launches.treatment.codes[first])
    return Preparation(
        treatment=treatment,
        treatment_name=launches.treatment.labels[treatment],
        value=value,
        launches=tuple(
            _launch(launches, row, (place + 0.5) / len(rows)) for place, row in enumerate(rows.tolist())
        ),
        **{
            name: factor.labels[factor.codes[first]] if factor.named else "" for name, factor in named.items()
        },
    )


def _launch(launches: Launches, row: int, place: float) -> Launch:
    value = float(launches.value[row])
    return Launch(
        place=place,
        value=value if np.isfinite(value) else None,
        row=int(launches.row[row]),
        cause=(launches.cause[row] or "no cause given") if launches.void[row] else None,
        at_least=bool(launches.at_least[row]),
    )
