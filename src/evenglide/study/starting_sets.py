"""What a new study starts from: surfaces, causes to set a launch aside, for four kinds of ground.

All of it is common practice, no source; a person changes what does not fit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from evenglide.study.study import Surface

SetName = Literal["shore", "snow", "rink", "turf"]
SET_NAMES: tuple[SetName, ...] = get_args(SetName)
STILL_WATER_MARK_S = 7.0
"""Still water lets gear drift on by itself, so a mark is taken a fixed time after release."""
MELT_PAN_MARK_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingSet:
    """What one kind of ground brings along.

    Parameters
    ----------
    name : {"shore", "snow", "rink", "turf"}
    told : str
        What it is for, in one line.
    item_word : str
        What one piece of gear is called there.
    surfaces : tuple of Surface
    void_reasons : tuple of str
        Causes that can be judged without knowing the distance.
    reasons_for_order : str
        Why some surface may not come before another; "" if none.
    """

    name: SetName
    told: str
    item_word: str
    surfaces: tuple[Surface, ...]
    void_reasons: tuple[str, ...]
    reasons_for_order: str = ""


_ANYWHERE = ("rig moved more than 1 cm", "touched by somebody", "release snagged")

STARTING_SETS: Mapping[SetName, StartingSet] = {
    "shore": StartingSet(
        name="shore",
        told="sand from dry to flooded, and still water",
        item_word="board",
        surfaces=(
            Surface(
                name="dry sand",
                minutes_per_launch=3.0,
                not_after=("wet sand under a film of water", "still water"),
            ),
            Surface(name="damp sand", minutes_per_launch=3.0),
            Surface(name="wet sand under a film of water", minutes_per_launch=3.0),
            Surface(
                name="still water", mark="timed mark", after_s=STILL_WATER_MARK_S, minutes_per_launch=4.0
            ),
        ),
        void_reasons=(*_ANYWHERE, "ran onto a shell, weed or a ridge", "a wave reached the lane"),
        reasons_for_order="Dry sand clings to a wet base, so it is not launched on after water on one coat.",
    ),
    "snow": StartingSet(
        name="snow",
        told="cold, groomed and wet snow, and a pan of melt water",
        item_word="sled",
        surfaces=(
            Surface(name="cold powder", minutes_per_launch=3.0),
            Surface(name="groomed snow", minutes_per_launch=3.0),
            Surface(name="wet spring snow", minutes_per_launch=3.0),
            Surface(name="melt pan", mark="timed mark", after_s=MELT_PAN_MARK_S, minutes_per_launch=3.0),
        ),
        void_reasons=(*_ANYWHERE, "nose under the snow", "left the track sideways"),
    ),
    "rink": StartingSet(
        name="rink",
        told="ice as it is found on a rink",
        item_word="slider",
        surfaces=(
            Surface(name="fresh dry ice", minutes_per_launch=2.0),
            Surface(name="scraped ice", minutes_per_launch=2.0),
            Surface(name="ice under a film of water", minutes_per_launch=2.0),
        ),
        void_reasons=(*_ANYWHERE, "ran over a groove or loose ice", "hit the boards"),
    ),
    "turf": StartingSet(
        name="turf",
        told="grass, dry and wet",
        item_word="slider",
        surfaces=(
            Surface(name="short dry turf", minutes_per_launch=2.0),
            Surface(name="short wet turf", minutes_per_launch=2.0),
            Surface(name="long dry turf", minutes_per_launch=2.0),
        ),
        void_reasons=(*_ANYWHERE, "ran over a hole or a stone", "tipped over"),
    ),
}
