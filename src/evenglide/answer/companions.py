"""Everything reckoned for one contrast before it is told."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.claims import Claims, Family, Margin, claims_of, verdict_of
from evenglide.analysis.closing import CHANCE, blocks_to_close
from evenglide.analysis.components import MixedModel
from evenglide.analysis.estimates import Estimate, in_blocks_holding_both, naive_test, own_pair_test
from evenglide.analysis.robustness import Line, Robustness
from evenglide.analysis.rule import Rule
from evenglide.answer.results import ToClose
from evenglide.maths.blocks import compact
from evenglide.maths.joint_randomisation import JointRandomisationTest
from evenglide.maths.randomisation import RandomisationTest, randomisation_test
from evenglide.typing import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Companions:
    """Everything reckoned for one contrast before it is told.

    Parameters
    ----------
    case : SurfaceCase
    treatment : int
    index : int
        Position in `family`.
    family : Family
    primary, own_pair, naive : Estimate
    mixed : MixedModel
        Of the whole surface.
    randomisation : RandomisationTest or None
    joint : JointRandomisationTest or None
    lines : tuple of Line
    closing : ToClose or None
    """

    case: SurfaceCase
    treatment: int
    index: int
    family: Family
    primary: Estimate
    own_pair: Estimate
    naive: Estimate
    mixed: MixedModel
    randomisation: RandomisationTest | None
    joint: JointRandomisationTest | None
    lines: tuple[Line, ...]
    closing: ToClose | None

    @property
    def rule(self) -> Rule:
        """The rule of the whole answer."""
        return self.family.rule

    @property
    def margin(self) -> Margin:
        """What does not matter on this surface."""
        return self.rule.margin_on(self.case.surface)

    @property
    def claims(self) -> Claims:
        """The three claims of the primary test, as they are shared over the family."""
        return self.family.claims(self.index)

    @property
    def verdict(self) -> Verdict:
        """The verdict, with the error rate shared over the family."""
        return verdict_of(self.family.adjusted()[:, self.index], self.primary.estimate, self.rule)

    @property
    def own_pair_verdict(self) -> Verdict | None:
        """Verdict from the two treatments' own preparations, or None where they give no test."""
        claims = claims_of(self.own_pair, self.margin)
        if claims.difference is None:
            return None
        return self.family.verdict_with(self.index, claims, self.own_pair.estimate)


def companions_of(
    robustness: Robustness,
    treatment: int,
    *,
    family: Family,
    index: int,
    mixed: MixedModel,
    joint: JointRandomisationTest | None,
) -> Companions:
    """Run every test of one treatment against the reference on one surface."""
    case, rule = robustness.case, family.rule
    primary = case.test.contrast(treatment)
    verdict = verdict_of(family.adjusted()[:, index], primary.estimate, rule)
    closing = None
    if verdict == "open" and robustness.margin is not None:
        blocks = blocks_to_close(
            case, robustness.margin, level=rule.level, contrasts=family.count_with(index)
        )
        if blocks is not None and primary.estimate is not None:
            closing = ToClose(
                difference_blocks=blocks.difference_blocks, alike_blocks=blocks.alike_blocks, chance=CHANCE
            )
    return Companions(
        case=case,
        treatment=treatment,
        index=index,
        family=family,
        primary=primary,
        own_pair=own_pair_test(case.units, treatment),
        naive=naive_test(
            case.launches,
            treatment,
            surface=case.surface,
            scale=rule.scale,
            items=case.units.item is not None,
        ),
        mixed=mixed,
        randomisation=_randomisation(case, treatment, rule),
        joint=joint,
        lines=() if primary.estimate is None else robustness.lines(treatment),
        closing=closing,
    )


def _randomisation(case: SurfaceCase, treatment: int, rule: Rule) -> RandomisationTest | None:
    """RandomisationTest test of the two treatments' units in blocks that hold both."""
    pair = case.units.take(in_blocks_holding_both(case.units, treatment))
    if not pair.value.size:
        return None
    treated = pair.treatment == treatment
    restriction = None
    if (drawn := rule.drawn.get(case.surface)) is not None:
        labels = [case.launches.preparation.labels[code] for code in pair.preparation]
        restriction = drawn.rule_of(labels, treated)
        if restriction is None:
            return None  # a preparation that the plan does not have was never drawn
    return randomisation_test(
        pair.value,
        treated,
        block=compact(pair.block),
        item=pair.item,
        level=rule.level,
        restriction=restriction,
    )
