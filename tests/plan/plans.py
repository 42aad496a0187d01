"""Made-up layouts, and the chances of one of them."""

from __future__ import annotations

import numpy as np

from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.chances import chances_of
from evenglide.plan.designs import LayoutDesign, SurfaceDesign
from evenglide.plan.layout_chances import SharingCase

KNOWN = ScatterBelief(preparations=0.03, launches=0.06)
TEN_PERCENT = float(np.log(1.1))


def layout(
    rounds: int = 6, launches: int = 5, *, surfaces: int = 4, items: int = 0, **rest: object
) -> LayoutDesign:
    margin = rest.pop("margin", TEN_PERCENT)
    return LayoutDesign(
        surfaces=tuple(
            SurfaceDesign(
                surface=f"surface {at}",
                rounds=tuple(range(rounds)),
                launches=launches,
                margin=None if margin is None else (-margin, margin),  # type: ignore[operator, arg-type]
                items=items,
            )
            for at in range(surfaces)
        ),
        rounds=rounds,
        **rest,  # type: ignore[arg-type]
    )


def only(design: LayoutDesign, belief: ScatterBelief, **asked: object) -> SharingCase:
    (found,) = chances_of([design], belief, **asked)  # type: ignore[arg-type]
    return found.cases[0]
