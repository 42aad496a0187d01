"""One finding in one sentence, for somebody who rides: answer, interval, the difference that matters.

Pure functions from facts to words. No sentence here speaks of probabilities or degrees of freedom;
the pages for the referee do.
"""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.report.findings import Finding

TOO_CLOSE = "Too close to call so far"
NO_DIFFERENCE = "No difference that matters"
NO_ANSWER = "No answer here"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """The finding, to be set in bold, and what qualifies it."""

    lead: str
    rest: str

    @property
    def text(self) -> str:
        """Both halves as one text."""
        return f"{self.lead}{self.rest}"


def tell(finding: Finding) -> Sentence:
    """Tell one finding in one sentence, and in a further one what its bar alone would not show."""
    if finding.contrast.estimate is None:
        return Sentence(lead=NO_ANSWER, rest=f": {_why_nothing(finding)}.")
    if finding.bar is None:
        return _tell_these_preparations_only(finding)
    teller = {"alike": _tell_alike, "open": _tell_open}.get(finding.contrast.verdict, _tell_difference)
    told = teller(finding)
    rest = told.rest + _bar_against_size(finding) + _alone_but_not_together(finding) + _own_pair(finding)
    return Sentence(lead=told.lead, rest=rest)


def _tell_difference(finding: Finding) -> Sentence:
    effects, size = finding.effects, finding.contrast.size
    goes = effects.wording.goes_more if finding.contrast.verdict == "higher" else effects.wording.goes_less
    by = _by(finding)
    if size is None:
        return Sentence(lead=goes, rest=f"{by}.")
    if size == "small":
        return Sentence(
            lead=f"{goes}, but too little to matter",
            rest=f"{by}, less than the {_margin_around(finding)} that {effects.matters}.",
        )
    if size == "matters":
        more = ": more than" if finding.is_beyond else ". It is more than"
        return Sentence(lead=goes, rest=f"{by}{more} the {margin_beside(finding)} that {effects.matters}.")
    return Sentence(
        lead=goes, rest=f"{by}. More than the {margin_beside(finding)} that {effects.matters}? Not settled."
    )


def _by(finding: Finding) -> str:
    """Tell by how much; both directions where the interval shown still has both."""
    assert finding.bar is not None
    low, high = finding.bar
    if low is not None and high is not None and low * high >= 0:
        return f", by {finding.effects.amount(low, high)}"
    return f"; {finding.effects.range(finding.bar)} still fits"


def margin_beside(finding: Finding) -> str:
    """Write the difference that matters as it has to read beside the nearer end of the bar."""
    assert finding.bar is not None
    ends = [end for end in finding.bar if end is not None]
    effects = finding.effects
    return effects.margin_words_on(min(ends, key=abs)) if ends else effects.margin_words()


def _margin_around(finding: Finding) -> str:
    """Write the difference that matters as it has to read around a bar that lies within it."""
    effects, low, high = finding.effects, *(finding.bar or (None, None))
    return effects.margin_words_on(0.0 if low is None else low, both=high is None or high > 0)


def _tell_alike(finding: Finding) -> Sentence:
    assert finding.bar is not None
    fits, margin = finding.effects.range(finding.bar), _margin_around(finding)
    told = f": {fits} still fits, less than the {margin} that {finding.effects.matters}."
    return Sentence(lead=NO_DIFFERENCE, rest=told)


def _tell_open(finding: Finding) -> Sentence:
    assert finding.bar is not None
    nothing = f"this does not say that {finding.contrast.treatment} does nothing"
    return Sentence(lead=TOO_CLOSE, rest=f": {nothing}. {anything_fits(finding)}.")


def anything_fits(finding: Finding) -> str:
    """Say what still fits: ``Anything from 6 % shorter to 12 % farther fits``."""
    fits = "anything" if finding.bar is None else finding.effects.range(finding.bar)
    return "Anything fits" if fits == "anything" else f"Anything from {fits} fits"


def _tell_these_preparations_only(finding: Finding) -> Sentence:
    """Tell an estimate with nothing beside it to say how far it could be off."""
    effects, estimate = finding.effects, finding.contrast.estimate
    assert estimate is not None
    measured = effects.one(estimate, decimals=effects.decimals(estimate, 0.0))
    return Sentence(
        lead=f"{TOO_CLOSE}.",
        rest=f" {measured[:1].upper()}{measured[1:]} on these very preparations; "
        "nothing here tells how far others would lie from them.",
    )


def _why_nothing(finding: Finding) -> str:
    treatment, reference = finding.contrast.treatment, finding.contrast.reference
    for name in (treatment, reference):
        facts = finding.facts_of(name)
        if facts is None or facts.preparations == 0:
            where = "on it" if finding.surface.surface is not None else "so that it counts"
            return f"{name} was not launched {where}"
    if finding.has_note("item-is-treatment"):
        return "each piece of gear carried one treatment throughout, so the two cannot be told apart"
    return f"{treatment} and {reference} never met under like conditions"


def _bar_against_size(finding: Finding) -> str:
    """Say which of the two held where the bar and the settled size seem to disagree."""
    once = (
        f"once {finding.sharing} share the error rate" if finding.sharing else "at the error rate we accept"
    )
    size = finding.contrast.size
    if size == "unsettled" and finding.is_beyond:
        return f" The bar lies beyond it, but that did not hold {once}."
    if size == "unsettled" and finding.is_inside:
        return f" The bar lies within it, but that did not hold {once}."
    if size == "matters" and not finding.is_beyond:
        return f" That held {once}, though the bar reaches below it."
    return ""


def _alone_but_not_together(finding: Finding) -> str:
    """Say that a finding was clear on its own and not within the family."""
    contrast, level = finding.contrast, finding.answer.level
    if finding.sharing is None:
        return ""
    not_once = f"not once {finding.sharing} share the error rate"
    if contrast.verdict in ("open", "alike") and _only_alone(
        contrast.p_difference, contrast.p_difference_adjusted, level
    ):
        side = finding.effects.side(contrast.estimate or 0.0)
        return f" {side.capitalize()} is clear on its own, {not_once}."
    if contrast.size == "unsettled" and _only_alone(contrast.p_alike, contrast.p_alike_adjusted, level):
        return f" On its own it would count as no difference that matters, {not_once}."
    return ""


def _only_alone(p: float | None, adjusted: float | None, level: float) -> bool:
    return p is not None and adjusted is not None and p <= level < adjusted


def _own_pair(finding: Finding) -> str:
    """Say that these two treatments alone would be judged otherwise than with the others' scatter."""
    if not finding.has_note("spread-unequal"):
        return ""
    contrast = finding.contrast
    return (
        f" The preparations of {contrast.treatment} and {contrast.reference} alone say otherwise: "
        "the treatments scatter unequally."
    )
