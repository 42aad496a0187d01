"""A whole answer: surfaces, how they compare, the audit, what it was made from."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.answer.results.conduct import Conduct
from evenglide.answer.results.contrast import Contrast, Omnibus, Scatter, TreatmentFacts
from evenglide.answer.results.plain import to_plain
from evenglide.show.notes import AuditEntry, Note
from evenglide.show.numbers import decimals_for, fixed, percent_change, with_unit
from evenglide.show.table import Table, html_table, text_table
from evenglide.typing import Adjust, Interval, Scale

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
    scatter : Scatter or None
        None without degrees of freedom.
    """

    surface: str | None
    mark: str
    after_s: float | None
    margin: tuple[float, float] | None
    treatments: tuple[TreatmentFacts, ...]
    omnibus: Omnibus | None
    contrasts: tuple[Contrast, ...]
    scatter: Scatter | None = None


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
    conduct : Conduct or None
        How a sealed study was carried out; None for a judged table.
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
    conduct: Conduct | None = None

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
