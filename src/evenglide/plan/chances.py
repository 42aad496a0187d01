"""What layouts can find, as numbers: the one door for who searches, recommends and draws.

Exact where it can be: two treatments, preparations fresh on each surface (or one surface), nothing set aside.
Else simulated, with the standard error said. `quick` looks at layouts as if they were of the first kind:
enough to tell good from poor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from evenglide.errors import Problem, StudyError
from evenglide.maths.step_down import MOST_JOINT
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.designs import LayoutDesign, check_designs, renumbered
from evenglide.plan.exact_chances import FEWER_NODES, NODES, Asked, exact_chances
from evenglide.plan.layout_chances import LayoutChances, SharingCase
from evenglide.plan.simulated_blocks import simulated_blocks
from evenglide.plan.simulated_chances import simulated_pairs

Effects = Sequence[Literal["none", "margin"]] | Sequence[float]
NAMED = {"none": 0.0, "margin": 1.0}
QUICK_FAMILY = 5
"""Families beyond this share the level equally in a quick look, which is a little less than they do."""


def chances_of(
    layouts: Sequence[LayoutDesign],
    belief: ScatterBelief,
    *,
    effects: Effects = ("none", "margin"),
    in_margins: bool = True,
    either: bool = True,
    quick: bool = False,
    seed: int = 0,
) -> tuple[LayoutChances, ...]:
    """Chances of the claims of layouts, averaged over what the scatter may be.

    Parameters
    ----------
    layouts : sequence of LayoutDesign
        Many at once cost less than one by one.
    belief : ScatterBelief
    effects : sequence of {"none", "margin"} or of float
        True effects, the same in every comparison: multiples of the margin.
    in_margins : bool
        False: `effects` are on the analysis scale; the only way where a surface has no margin.
    either : bool
        Whether the chance of a verdict of either kind is worked out; it takes most of the time.
    quick : bool
        Treat preparations as fresh on each surface, and launches set aside as fewer launches.
    seed : int
        Same seed, same numbers; the same draws serve every layout and effect.

    Returns
    -------
    tuple of LayoutChances

    Raises
    ------
    StudyError
        If a layout is none, or effects are counted in margins that are not stated.
    """
    check_designs(layouts)
    multiples = tuple(NAMED[one] if isinstance(one, str) else float(one) for one in effects)
    _check_effects(layouts, multiples, in_margins=in_margins)
    asked = Asked(
        effects=multiples, in_margins=in_margins, either=either, nodes=FEWER_NODES if quick else NODES
    )
    if quick:
        near = exact_chances([_simplified(one) for one in layouts], _thinned(belief), asked)
        return tuple(LayoutChances(effects=multiples, cases=(case,)) for case in near)
    exact = [at for at, one in enumerate(layouts) if is_exact(one, belief)]
    found = exact_chances([layouts[at] for at in exact], belief, asked)
    cases: dict[int, tuple[SharingCase, ...]] = {at: (case,) for at, case in zip(exact, found, strict=True)}
    simulated: dict[LayoutDesign, tuple[SharingCase, ...]] = {}
    for at, layout in enumerate(layouts):
        if at not in cases:
            settled = renumbered(layout)
            if settled not in simulated:
                simulate = simulated_pairs if layout.treatments == 2 else simulated_blocks
                simulated[settled] = tuple(simulate(settled, belief, asked, seed=seed))
            cases[at] = simulated[settled]
    return tuple(LayoutChances(effects=multiples, cases=cases[at]) for at in range(len(layouts)))


def is_exact(layout: LayoutDesign, belief: ScatterBelief) -> bool:
    """Whether the chances of a layout need no simulation.

    Parameters
    ----------
    layout : LayoutDesign
    belief : ScatterBelief

    Returns
    -------
    bool
    """
    apart = not layout.shared or len(layout.surfaces) == 1
    largest = max(layout.families.count(name) for name in layout.families)
    return layout.treatments == 2 and apart and belief.voids == 0 and largest <= MOST_JOINT


# --------------------------------------------------------------------------------------- private


def _simplified(layout: LayoutDesign) -> LayoutDesign:
    """Layout whose comparisons are taken as independent of each other."""
    families = layout.families
    largest = layout.contrasts * max(families.count(name) for name in families)
    shares_equally = layout.adjust == "holm" and largest > QUICK_FAMILY
    return replace(layout, shared=False, adjust="both" if shares_equally else layout.adjust)


def _thinned(belief: ScatterBelief) -> ScatterBelief:
    """Belief under which as many launches count for as much as those that are left after voids."""
    return replace(belief, launches=belief.launches / (1.0 - belief.voids) ** 0.5, voids=0.0)


def _check_effects(layouts: Sequence[LayoutDesign], effects: tuple[float, ...], *, in_margins: bool) -> None:
    """Effects in margins need margins; "none" and nought mean the same on any scale."""
    without = {one.surface for layout in layouts for one in layout.surfaces if one.margin is None}
    if in_margins and without and any(effects):
        raise StudyError(
            [
                Problem(
                    code="no-margin",
                    where="study.matters" if len(without) > 1 else f"surface {min(without)}",
                    found="no difference that matters",
                    expected="one, or effects on the analysis scale",
                    remedy='Write how much would matter to you, such as matters = "5 %".',
                )
            ]
        )
