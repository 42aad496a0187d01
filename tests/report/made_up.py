"""Invented answers for the report to tell: a hill club's two snow sliders, bare against a paraffin rub.

The club, the sliders and every number are made up. What an answer says about itself is kept true:
intervals, p values, verdicts and sizes follow from the invented estimates by the rules of the
analysis (t intervals, Holm within each kind of claim), so that no page is tested on a contradiction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from scipy.special import stdtr, stdtrit

from evenglide.answer.results import (
    Answer,
    BetweenSurfaces,
    Contrast,
    Naive,
    Omnibus,
    OwnPair,
    Provenance,
    Reml,
    ResponseFacts,
    RobustnessLine,
    Scatter,
    SurfaceAnswer,
    SurfacePair,
    ToClose,
    TreatmentFacts,
)
from evenglide.show.notes import AuditEntry, Note
from evenglide.typing import Adjust, Interval, Scale, Severity, Size, Verdict
from tests.report.invented import (
    BARE,
    FIVE_PERCENT,
    FOUR_SURFACES,
    LEVEL,
    RUB,
    WAX,
    Invented,
    launches,
    moved,
)

__all__ = ["AUDIT", "FIVE_PERCENT", "FOUR_SURFACES", "RUB", "WAX", "Invented", "answer", "launches"]


def answer(
    invented: Sequence[Invented] = FOUR_SURFACES,
    *,
    margin: tuple[float, float] | None = FIVE_PERCENT,
    scale: Scale = "ratio",
    unit: str | None = "m",
    adjust: Adjust = "holm",
) -> Answer:
    """Make the whole answer from what was invented."""
    kinds = [_claims(case, margin) for case in invented]
    adjusted = [_holm([claims[kind] for claims in kinds], adjust) for kind in range(3)]
    surfaces: dict[str | None, list[Contrast]] = {}
    marks = {case.surface: case for case in invented}
    for place, case in enumerate(invented):
        three = tuple(column[place] for column in adjusted)
        shares = _shares(place, [claims[0] for claims in kinds], adjusted[0], adjust)
        made = _contrast(case, kinds[place], three, margin=margin, scale=scale, shares=shares)
        surfaces.setdefault(case.surface, []).append(made)
    return Answer(
        response=ResponseFacts(name="distance_m" if unit == "m" else "glide", unit=unit, better="higher"),
        level=LEVEL,
        adjust=adjust,
        scale=scale,
        family_size=len(invented),
        main_family_size=None,
        main=None,
        surfaces=tuple(
            _surface(marks[name], contrasts, margin, scale=scale) for name, contrasts in surfaces.items()
        ),
        between_surfaces=_between(invented, scale),
        audit=AUDIT,
        provenance=Provenance(
            version="0.1.0",
            seed=None,
            seal=None,
            events=None,
            last_hash=None,
            data_sha256="3f9a" + 56 * "0" + "c71e",
        ),
    )


def _entry(code: str, severity: Severity, text: str, surface: str | None = None) -> AuditEntry:
    return AuditEntry(code=code, severity=severity, surface=surface, facts={}, text=text)


AUDIT = (
    _entry("mark-assumed", "fine", "Nothing says how launches were measured; they were taken as run-outs."),
    _entry("no-record-of-order", "warns", "Nothing shows that the order was drawn before the first launch."),
    _entry(
        "surface-tied-to-coat-age",
        "limits",
        "The melt pan always came last on a coat, so its answer is that of a worn coat.",
        surface="melt pan",
    ),
    _entry("one-day", "warns", "All launches were made on one day."),
)


def _claims(
    case: Invented, margin: tuple[float, float] | None
) -> tuple[float | None, float | None, float | None]:
    """P values of difference, alike and matters."""
    if case.estimate is None or case.se is None or case.df is None:
        return None, None, None
    difference = 2 * float(stdtr(case.df, -abs(case.estimate / case.se)))
    if margin is None:
        return difference, None, None
    below = float(stdtr(case.df, (case.estimate - margin[1]) / case.se))
    above = float(stdtr(case.df, (margin[0] - case.estimate) / case.se))
    return difference, max(below, above), min(1.0, 2 * min(1 - below, 1 - above))


def _holm(p: Sequence[float | None], adjust: Adjust) -> list[float | None]:
    if adjust == "none":
        return list(p)
    known = [1.0 if one is None else one for one in p]
    result, worst = [0.0] * len(known), 0.0
    for rank, place in enumerate(sorted(range(len(known)), key=known.__getitem__)):
        worst = max(worst, min(1.0, (len(known) - rank) * known[place]))
        result[place] = worst
    return [None if one is None else new for one, new in zip(p, result, strict=True)]


def _shares(place: int, p: Sequence[float | None], adjusted: Sequence[float | None], adjust: Adjust) -> int:
    """Parts into which an interval's error rate is cut: by rank where Holm claims a difference."""
    if adjust == "none":
        return 1
    own, together = p[place], adjusted[place]
    if own is None or together is None or together > LEVEL:
        return len(p)
    return len(p) - sum(other is not None and other < own for other in p)


def _interval(case: Invented, tail: float) -> Interval | None:
    if case.estimate is None or case.se is None or case.df is None:
        return None
    reach = case.se * float(stdtrit(case.df, 1 - tail))
    return case.estimate - reach, case.estimate + reach


def _verdict(case: Invented, adjusted: tuple[float | None, ...]) -> tuple[Verdict, Size]:
    difference, alike, matters = (1.0 if p is None else p for p in adjusted)
    size: Size = "small" if alike <= LEVEL else "matters" if matters <= LEVEL else "unsettled"
    if difference <= LEVEL and case.estimate is not None:
        return ("higher" if case.estimate > 0 else "lower"), size
    return ("alike" if alike <= LEVEL else "open"), size


def _contrast(  # one row of a published format, field by field
    case: Invented,
    claims: tuple[float | None, float | None, float | None],
    adjusted: tuple[float | None, ...],
    *,
    margin: tuple[float, float] | None,
    scale: Scale,
    shares: int,
) -> Contrast:
    verdict, size = _verdict(case, adjusted)
    plain = _interval(case, LEVEL / 2)
    exponential = scale == "ratio" and case.estimate is not None
    return Contrast(
        treatment=case.treatment,
        reference=BARE,
        estimate=case.estimate,
        se=case.se,
        df=case.df if case.se else None,
        interval=plain,
        interval_adjusted=_interval(case, LEVEL / shares / 2),
        interval_alike=None if margin is None else _interval(case, LEVEL),
        ratio=math.exp(case.estimate) if exponential and case.estimate is not None else None,
        ratio_interval=tuple(math.exp(end) for end in plain if end is not None)
        if exponential and plain
        else None,  # type: ignore[arg-type]
        p_difference=claims[0],
        p_difference_adjusted=adjusted[0],
        p_alike=claims[1],
        p_alike_adjusted=adjusted[1],
        p_matters=claims[2],
        p_matters_adjusted=adjusted[2],
        p_randomisation=None if claims[0] is None else max(2 / 1024, round(claims[0] * 1024) / 1024),
        assignments=None if claims[0] is None else 1024,
        log10_assignments=None,
        smallest_p=None if claims[0] is None else 2 / 1024,
        interval_randomisation=plain,
        randomisation_method=None if claims[0] is None else "exact",
        randomisation_draws=None,
        randomisation_error=None,
        p_randomisation_joint=None,
        own_pair=_own_pair(case, claims[0]),
        naive=_naive(case),
        reml=_reml(case),
        to_close=ToClose(difference_blocks=14, alike_blocks=11, chance=0.8)
        if verdict == "open" and margin and plain
        else None,
        robustness=_robustness(case, verdict, scale),
        looks=None,
        ride=None,
        verdict=verdict,
        size=None if margin is None else size,
        notes=_notes(case),
    )


def _notes(case: Invented) -> tuple[Note, ...]:
    def note(code: str, text: str, *fields: str) -> Note:
        return Note(code=code, severity="limits", fields=fields, facts={}, text=text)

    notes = []
    if case.estimate is None:
        text = f"{case.treatment} was not launched on this surface."
        notes.append(note("treatment-missing", text, "estimate", "interval", "p_difference"))
    elif case.se is None:
        text = "One preparation of a treatment shows nothing of how preparations scatter."
        notes.append(note("one-preparation", text, "se", "df", "interval"))
    if case.spread_unequal:
        text = f"From the preparations of {case.treatment} and {BARE} alone the verdict would be otherwise."
        notes.append(note("spread-unequal", text, "own_pair"))
    return tuple(notes)


def _own_pair(case: Invented, p: float | None) -> OwnPair | None:
    if case.se is None:
        return None
    return OwnPair(estimate=case.estimate, se=case.se, df=case.df, interval=_interval(case, LEVEL / 2), p=p)


def _naive(case: Invented) -> Naive | None:
    if case.se is None:
        return None
    close = replace(case, se=case.se / 2.5, df=107.0)
    return Naive(
        estimate=case.estimate, se=close.se, df=107.0, interval=_interval(close, LEVEL / 2), too_narrow_by=2.5
    )


def _reml(case: Invented) -> Reml | None:
    if case.se is None:
        return None
    return Reml(
        estimate=case.estimate,
        se=case.se,
        df=9.4,
        preparation_variance=0.0009,
        launch_variance=0.0036,
        boundary=False,
        moment_variance=0.0009,
    )


def _robustness(case: Invented, verdict: Verdict, scale: Scale) -> tuple[RobustnessLine, ...]:
    if case.estimate is None or case.se is None:
        return ()
    lines = []
    decided = (
        (
            "log-scale",
            "Ratios instead of differences" if scale == "difference" else "Differences instead of ratios",
            1.0,
            False,
        ),
        ("own-pair", "Only the preparations of these two treatments", 1.0, False),
        ("outliers", "Without 2 launches that lie far out", 0.94, False),
        ("first-half", "First half of the rounds", 1.3, verdict == "alike"),
        ("fill-for", "Launches set aside filled in for the treatment", 1.1, False),
        ("wear", "With wear since the preparation taken out", None, False),
    )
    for code, text, factor, changes in decided:
        estimate = None if factor is None else case.estimate * factor
        other = replace(case, estimate=estimate)
        lines.append(
            RobustnessLine(
                code=code,
                text=text,
                scale=scale,
                estimate=estimate,
                interval=_interval(other, LEVEL / 2),
                p_difference=None if estimate is None else 0.04,
                p_alike=None if estimate is None else 0.5,
                verdict=None if estimate is None else "open" if changes else verdict,
                changes=None if estimate is None else changes,
            )
        )
    return tuple(lines)


def _surface(
    case: Invented, contrasts: Sequence[Contrast], margin: tuple[float, float] | None, *, scale: Scale
) -> SurfaceAnswer:
    treated = [
        _facts(
            contrast.treatment,
            None if contrast.estimate is None else moved(case.bare, contrast.estimate, scale),
            scale=scale,
            few=contrast.se is None,
        )
        for contrast in contrasts
    ]
    return SurfaceAnswer(
        surface=case.surface,
        mark=case.mark,
        after_s=None,
        margin=margin,
        treatments=(_facts(BARE, case.bare, scale=scale, few=contrasts[0].se is None), *treated),
        omnibus=Omnibus(f=9.5, df=(float(len(contrasts)), 9.0), p=0.013),
        contrasts=tuple(contrasts),
        scatter=None if contrasts[0].se is None else _scatter(scale),
    )


def _scatter(scale: Scale) -> Scatter:
    """Make scatter up: launches add a quarter of what is not known about a preparation."""
    unit = 1.0 if scale == "ratio" else 6.0
    return Scatter(
        residual=0.0346 * unit, preparations=0.03 * unit, launches=0.042 * unit, share_of_launches=0.25
    )


def _facts(name: str, mean: float | None, *, scale: Scale, few: bool) -> TreatmentFacts:
    there = mean is not None
    unit = 1.0 if scale == "ratio" else 6.0
    return TreatmentFacts(
        treatment=name,
        reference=name == BARE,
        preparations=(1 if few else 10) if there else 0,
        launches=(6 if few else 59) if there else 0,
        voids=1 if there else 0,
        at_least=1 if name == RUB and there else 0,
        mean=mean,
        sd_preparations=None if few or not there else 0.031 * unit,
        sd_launches=0.058 * unit if there else None,
    )


def _between(invented: Sequence[Invented], scale: Scale) -> tuple[BetweenSurfaces, ...]:
    known = [
        case
        for case in invented
        if case.se and case.surface and case.mark == "run-out" and case.treatment == RUB
    ]
    if len(known) < 2:
        return ()
    first, second = known[:2]
    assert first.estimate is not None and second.estimate is not None and first.se and second.se
    gap = replace(
        first, estimate=second.estimate - first.estimate, se=math.hypot(first.se, second.se), df=17.0
    )
    pair = SurfacePair(
        surfaces=(first.surface, second.surface), estimate=gap.estimate, se=gap.se, df=17.0,
        interval=_interval(gap, LEVEL / 2), p=_claims(gap, None)[0],
    )  # fmt: skip
    return (
        BetweenSurfaces(
            treatment=RUB, reference=BARE, surfaces=tuple(case.surface for case in known), method="welch",
            f=14.2, df=(2.0, 17.3), p=0.0002, pairs=(pair,), notes=(),
        ),
    )  # fmt: skip
