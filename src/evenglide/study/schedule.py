"""The launches to make, in order, numbered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

LaunchKind = Literal["launch", "practice", "wear check", "return to bare"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduledLaunch:
    """One launch to make.

    Parameters
    ----------
    number : int
        From 1, without gaps, over the whole schedule.
    kind : {"launch", "practice", "wear check", "return to bare"}
        Only ``"launch"`` enters the answer.
    outing : int
        From 1.
    block : str
        Round.
    set_up : int
        From 1: the rig anchored once (surface, direction).
    surface, direction : str
    preparation : str
        Label, unique over the schedule; one label on several surfaces where preparations are shared.
    item, treatment : str
    tag : str
        What stands on the gear where treatments are hidden; "" otherwise.
    """

    number: int
    kind: LaunchKind = "launch"
    outing: int
    block: str
    set_up: int
    surface: str
    direction: str
    preparation: str
    item: str
    treatment: str
    tag: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """All launches to make, and how their order was drawn.

    Parameters
    ----------
    launches : tuple of ScheduledLaunch
    seed : int
        Of ``random.Random(seed).random()``, the only source of chance.
    rule : str
        The order rule in words, as sealed.
    largest_imbalance : int or None
        Largest slot imbalance allowed where the order was restricted; None where it was not.
    """

    launches: tuple[ScheduledLaunch, ...]
    seed: int
    rule: str
    largest_imbalance: int | None = None


def places_in_rounds(schedule: Schedule, *, surface: str | None) -> Mapping[str, int]:
    """Place of each preparation in its round, as the slot imbalance counts it.

    Parameters
    ----------
    schedule : Schedule
    surface : str or None
        Where one draw served one surface; None where it served all.

    Returns
    -------
    mapping of str to int
        Twice the place, less the middle, by label; over all rounds that the draw was about.
    """
    rounds: dict[str, dict[str, None]] = {}
    for one in schedule.launches:
        if one.kind == "launch" and surface in {None, one.surface}:
            rounds.setdefault(one.block, {}).setdefault(one.preparation)
    return {
        label: 2 * place - len(labels) - 1
        for labels in rounds.values()
        for place, label in enumerate(labels, start=1)
    }
