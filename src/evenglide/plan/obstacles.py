"""What stands in the way of any plan at all, and what would remove it."""

from __future__ import annotations

from evenglide.errors import Problem, StudyError
from evenglide.plan.layouts import Desk, every_number
from evenglide.plan.rounds import block_size
from evenglide.plan.wishes import fewer_surfaces
from evenglide.show.numbers import count
from evenglide.show.typed import listing
from evenglide.study.study import Study


def check_margins(study: Study) -> None:
    """Refuse a study without a difference that matters: all chances hang on it.

    Raises
    ------
    StudyError
        Naming the surfaces that lack one.
    """
    without = [one.name for one in study.surfaces if (one.margin or study.margin) is None]
    if not without:
        return
    where = "" if len(without) == len(study.surfaces) else f" on {listing(without)}"
    problem = Problem(
        code="no-margin",
        where="study.matters",
        found=f"no difference that matters{where}",
        expected="the smallest difference that would matter, since the chances hang on it",
        remedy='Add it, such as matters = "5 %", or plan with --blocks and --launches.',
    )
    raise StudyError([problem])


def nothing_fits(study: Study) -> Problem:
    """Say why no layout fits.

    Parameters
    ----------
    study : Study
        With its gaps filled; no layout of it fits.

    Returns
    -------
    Problem
    """
    desk, fewest = Desk(study), every_number(study)[0]
    if desk.short_of_items and desk.most_rounds < desk.fewest_rounds:
        return _items(study, rounds=desk.fewest_rounds)
    held = desk.capacities(fewest)
    if not any(held):
        return _too_short(study, desk, launches=fewest)
    met = {name for one, rounds in zip(desk.outings, held, strict=True) if rounds for name in one.surfaces}
    missed = [one.name for one in study.surfaces if one.name not in met]
    if missed:
        return Problem(
            code="surface-not-met",
            where="costs.outings",
            found=f"no outing with a round that meets {listing(missed)}",
            expected="each surface on at least one outing that holds a round",
            remedy="Add it to an outing, or stay out longer.",
        )
    return Problem(
        code="no-order",
        where="costs.outings",
        found=f"room for {count(sum(held), 'round')}",
        expected=f"{count(desk.fewest_rounds, 'round')} of each comparison on every surface, "
        "for treatments to change items",
        remedy="Add outings or hours, or take surfaces out of the study.",
    )


def _items(study: Study, *, rounds: int) -> Problem:
    size = block_size(study)
    return Problem(
        code="too-few-items",
        where="item",
        found=f"{len(study.items)} items, and treatments that never come off",
        expected=f"{size} for each round",
        remedy=f"Add items: {size * rounds} or more; or compare treatments that come off.",
    )


def _too_short(study: Study, desk: Desk, *, launches: int) -> Problem:
    longest = max(range(len(desk.outings)), key=lambda at: desk.outings[at].minutes)
    needed = desk.longest_round(longest, launches)
    each = count(launches, "launch", "launches")
    return Problem(
        code="outing-too-short",
        where="costs.outings",
        found=f"{desk.outings[longest].minutes:.0f} min on the longest outing{_kept(study)}",
        expected=f"{needed:.0f} min: what one round takes with {each} of each preparation on each surface; "
        "a round is never cut in two",
        remedy=f"Stay out longer, or {_shorter(study, launches)}.",
    )


def _kept(study: Study) -> str:
    reserve = study.costs.reserve or 0.0
    return f", of which {100 * reserve:.0f} % are kept free" if reserve else ""


def _shorter(study: Study, launches: int) -> str:
    """What would make a round short enough."""
    for fewer in fewer_surfaces(study):
        desk = Desk(fewer)
        if any(desk.capacities(launches)):
            kept = {one.name for one in fewer.surfaces}
            lost = [one.name for one in study.surfaces if one.name not in kept]
            shortest = min(desk.longest_round(at, launches) for at in range(len(desk.outings)))
            return f"ask less: without {listing(lost)} a round takes {shortest:.0f} min"
    return "prepare and launch in less time"
