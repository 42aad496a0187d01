"""Some launches of a table, all names and codes as they were."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from itertools import compress

import numpy as np

from evenglide.readings.launches import Factor, Launches
from evenglide.typing import BoolArray


def launches_in_rows(launches: Launches, rows: Collection[int]) -> Launches:
    """Keep launches by their row of the table, or their launch number.

    Parameters
    ----------
    launches : Launches
    rows : collection of int
        What stands in `Launches.row`.

    Returns
    -------
    Launches
        In the same order; labels without a launch stay, so that codes mean the same.
    """
    kept: BoolArray = np.isin(launches.row, list(rows))

    def those(factor: Factor) -> Factor:
        return replace(factor, codes=factor.codes[kept])

    return replace(
        launches,
        value=launches.value[kept],
        treatment=those(launches.treatment),
        surface=those(launches.surface),
        block=those(launches.block),
        item=those(launches.item),
        preparation=those(launches.preparation),
        direction=those(launches.direction),
        mark=those(launches.mark),
        session=those(launches.session),
        order=None if launches.order is None else launches.order[kept],
        void=launches.void[kept],
        cause=tuple(compress(launches.cause, kept)),
        at_least=launches.at_least[kept],
        row=launches.row[kept],
    )
