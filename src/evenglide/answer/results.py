"""What an answer holds: plain frozen facts, field for field the published JSON.

The classes here *are* the format ``evenglide.answer/1``: `to_dict` writes each field under its own
name, and the published schema is made from the annotations. Fields may be added, never renamed.
Numbers stand on the analysis scale (natural logarithm for ``scale = "ratio"``) unless a field says
otherwise. A number that this analysis would normally give and could not is None, and a note whose
`fields` names it says why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass

from evenglide.show.notes import AuditEntry, Note
from evenglide.show.numbers import decimals_for, fixed, percent_change, with_unit
from evenglide.show.table import Table, html_table, text_table
from evenglide.typing import Adjust, Interval, Scale, Size, Verdict

ANSWER_FORMAT = "evenglide.answer/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponseFacts:
    """What was measured.

    Parameters
    ----------
    name : str
        Column or quantity.
    unit : str or None
        Where known.
    better : {"higher", "lower"}
        Which way is better.
    """

    name: str
    unit: str | None
    better: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentFacts:
    """One treatment on one surface.

    Parameters
    ----------
    treatment : str
    reference : bool
        The others are held against it.
    preparations : int
        Preparations that have a value.
    launches, voids, at_least : int
        Valid launches; launches set aside; valid launches whose reading is a lower bound.
    mean : float or None
        Mean over preparations, geometric on the ratio scale. [unit of the response]
    sd_preparations : float or None
        Standard deviation of the preparations' values. [analysis scale]
    sd_launches : float or None
        Standard deviation of launches within preparations, pooled. [analysis scale]
    """

    treatment: str
    reference: bool
    preparations: int
    launches: int
    voids: int
    at_least: int
    mean: float | None
    sd_preparations: float | None
    sd_launches: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Omnibus:
    """F test that all treatments of a surface are alike, blocks and items removed.

    Parameters
    ----------
    f, p : float or None
    df : (float, float) or None
        Numerator and denominator.
    """

    f: float | None
    df: tuple[float, float] | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPair:
    """The contrast from the preparations of its two treatments alone."""

    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Naive:
    """What launches taken as independent would have said: shown as a warning, never used."""

    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    too_narrow_by: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reml:
    """Mixed-model line beside the verdict."""

    estimate: float | None
    se: float | None
    df: float | None
    preparation_variance: float | None
    launch_variance: float | None
    boundary: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ToClose:
    """Blocks of a new sealed study that would close an open question.

    Parameters
    ----------
    difference_blocks : int or None
        To claim a difference if it is as large as the margin; None beyond 9,999.
    alike_blocks : int or None
        To claim no difference that matters if there is none at all; None beyond 9,999.
    chance : float
        Chance of that claim.
    """

    difference_blocks: int | None
    alike_blocks: int | None
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RobustnessLine:
    """The primary test again under one other decision fixed in advance.

    Parameters
    ----------
    code, text : str
        Which decision.
    scale : {"ratio", "difference"}
        Scale of `estimate` and `interval`.
    estimate : float or None
    interval : (float, float) or None
        For this contrast alone, confidence 1 - level.
    p_difference, p_alike : float or None
        Not adjusted.
    verdict : {"higher", "lower", "alike", "open"} or None
        If this contrast alone were judged so and all others stayed as they are.
    changes : bool or None
        Whether that is another verdict than the primary one.
    """

    code: str
    text: str
    scale: Scale
    estimate: float | None
    interval: Interval | None
    p_difference: float | None
    p_alike: float | None
    verdict: Verdict | None
    changes: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """A treatment against the reference on one surface.

    Parameters
    ----------
    treatment, reference : str
    estimate, se, df : float or None
        Difference on the analysis scale, its standard error, degrees of freedom.
    interval, interval_adjusted, interval_alike : (float, float) or None
        For this contrast alone (confidence 1 - level); the one that belongs to the verdict once the
        family shares the error rate; the one that belongs to the claim alike (1 - 2 level).
    ratio, ratio_interval : float, (float, float) or None
        `estimate` and `interval` as ratios; None on the difference scale.
    p_difference, p_alike, p_matters : float or None
        The three claims, and below each with the error rate shared over the family.
    p_difference_adjusted, p_alike_adjusted, p_matters_adjusted : float or None
    p_randomisation, smallest_p : float or None
        From the orders that could have been drawn; the least value it could have taken.
    assignments : int or None
        How many orders could have been drawn; None past 2**53.
    log10_assignments : float or None
        Given where `assignments` is not.
    interval_randomisation : (float or None, float or None) or None
        Effects that the randomisation test does not reject; an end that is None is unbounded.
    randomisation_method : str or None
        ``"exact"``.
    p_randomisation_joint : float or None
        Largest t over the surfaces that shared preparations; None unless they did.
    own_pair : OwnPair or None
        From the preparations of these two treatments alone.
    naive : Naive or None
        What launches taken as independent would have said.
    reml : Reml or None
        Mixed model beside the verdict; never enters it.
    to_close : ToClose or None
        None when closed.
    robustness : tuple of RobustnessLine
    looks, ride : None
        Not part of this answer.
    verdict : {"higher", "lower", "alike", "open"}
    size : {"matters", "small", "unsettled"} or None
        None without a margin.
    notes : tuple of Note
    """

    treatment: str
    reference: str
    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    interval_adjusted: Interval | None
    interval_alike: Interval | None
    ratio: float | None
    ratio_interval: Interval | None
    p_difference: float | None
    p_difference_adjusted: float | None
    p_alike: float | None
    p_alike_adjusted: float | None
    p_matters: float | None
    p_matters_adjusted: float | None
    p_randomisation: float | None
    assignments: int | None
    log10_assignments: float | None
    smallest_p: float | None
    interval_randomisation: Interval | None
    randomisation_method: str | None
    p_randomisation_joint: float | None
    own_pair: OwnPair | None
    naive: Naive | None
    reml: Reml | None
    to_close: ToClose | None
    robustness: tuple[RobustnessLine, ...]
    looks: None
    ride: None
    verdict: Verdict
    size: Size | None
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceAnswer:
    """Everything said about one surface.

    Parameters
    ----------
    surface : str or None
        None where the table has no such column.
    mark : str
        How launches were marked.
    after_s : float or None
        For a timed mark, when it was taken. [s]
    margin : (float, float) or None
        What does not matter. [analysis scale]
    treatments : tuple of TreatmentFacts
        The reference first.
    omnibus : Omnibus or None
    contrasts : tuple of Contrast
    """

    surface: str | None
    mark: str
    after_s: float | None
    margin: tuple[float, float] | None
    treatments: tuple[TreatmentFacts, ...]
    omnibus: Omnibus | None
    contrasts: tuple[Contrast, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfacePair:
    """How much the effect differs between two surfaces (second minus first)."""

    surfaces: tuple[str | None, str | None]
    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BetweenSurfaces:
    """Whether the effect of one treatment depends on the surface.

    Parameters
    ----------
    treatment, reference : str
    surfaces : tuple of str
        Those measured in the same way on which the contrast exists.
    method : {"welch", "hotelling"}
        Fresh preparations on each surface, or shared ones.
    f, p : float or None
    df : (float, float) or None
    pairs : tuple of SurfacePair
        Second surface less first.
    notes : tuple of Note
    """

    treatment: str
    reference: str
    surfaces: tuple[str | None, ...]
    method: str
    f: float | None
    df: tuple[float, float] | None
    p: float | None
    pairs: tuple[SurfacePair, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """What the answer was made from.

    Parameters
    ----------
    version : str
        Of evenglide.
    seed : int or None
        Of the schedule.
    seal : str or None
        Fingerprint of the sealed plan.
    events : int or None
    last_hash : str or None
        Of the log.
    data_sha256 : str or None
        Of the table's bytes.
    """

    version: str
    seed: int | None
    seal: str | None
    events: int | None
    last_hash: str | None
    data_sha256: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """All verdicts of a table or a study, with what they rest on and what they cannot say.

    Parameters
    ----------
    response : ResponseFacts
    level : float
        Chance accepted of any false claim of a kind over the family.
    adjust : {"holm", "both", "none"}
    scale : {"ratio", "difference"}
        Analysis scale; ``"ratio"``: natural logarithm.
    family_size : int
        Contrasts that share the error rate (those off the main surface, if there is one).
    main_family_size : int or None
    main : str or None
        Surface that the argument is about.
    surfaces : tuple of SurfaceAnswer
    between_surfaces : tuple of BetweenSurfaces
    audit : tuple of AuditEntry
        What this cannot say, the gravest first.
    provenance : Provenance
    """

    response: ResponseFacts
    level: float
    adjust: Adjust
    scale: Scale
    family_size: int
    main_family_size: int | None
    main: str | None
    surfaces: tuple[SurfaceAnswer, ...]
    between_surfaces: tuple[BetweenSurfaces, ...]
    audit: tuple[AuditEntry, ...]
    provenance: Provenance

    def to_dict(self) -> dict[str, object]:
        """Return the plain ``evenglide.answer/1`` document: dicts, lists, str, float, int, bool, None."""
        plain = to_plain(self)
        assert isinstance(plain, dict)
        return {"format": ANSWER_FORMAT, **plain}

    def __str__(self) -> str:
        return text_table(self._table())

    def _repr_html_(self) -> str:
        return html_table(self._table())

    def _table(self) -> Table:
        """One row per contrast: what was claimed, and the interval that belongs to it."""
        return Table(
            caption=f"{self.response.name}: each treatment against the reference",
            columns=("surface", "treatment", "verdict", "size", "estimate", "interval", "preparations"),
            rows=tuple(
                _row(self, surface, contrast) for surface in self.surfaces for contrast in surface.contrasts
            ),
            align=("left", "left", "left", "left", "right", "right", "right"),
        )


def _row(answer: Answer, surface: SurfaceAnswer, contrast: Contrast) -> tuple[str, ...]:
    """Write one contrast out, in percent or in the response's unit."""
    counts = {facts.treatment: facts.preparations for facts in surface.treatments}
    unit = "%" if answer.scale == "ratio" else answer.response.unit
    low, high = contrast.interval_adjusted or (None, None)
    decimals = 1 if contrast.se is None else decimals_for(_shown(answer, contrast.se))

    def shown(value: float | None) -> str:
        return "not known" if value is None else with_unit(fixed(_shown(answer, value), decimals), unit)

    return (
        surface.surface or "-",
        f"{contrast.treatment} against {contrast.reference}",
        contrast.verdict,
        contrast.size or "-",
        shown(contrast.estimate),
        "not known" if low is None and high is None else f"{shown(low)} to {shown(high)}",
        f"{counts[contrast.treatment]} + {counts[contrast.reference]}",
    )


def _shown(answer: Answer, value: float) -> float:
    return percent_change(value) if answer.scale == "ratio" else value


def to_plain(value: object) -> object:
    """Turn frozen facts into what JSON can hold, field by field, without rounding."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(entry) for entry in value]
    return value
