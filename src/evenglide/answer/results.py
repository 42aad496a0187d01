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
    """What was measured: column name, unit where known, which way is better."""

    name: str
    unit: str | None
    better: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentFacts:
    """One treatment on one surface: counts, mean in the response's unit, scatter on the analysis scale."""

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
    """F test that all treatments of a surface are alike, blocks and items removed."""

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
    """Blocks of a new sealed study that would close an open question, with the stated chance."""

    difference_blocks: int | None
    alike_blocks: int | None
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RobustnessLine:
    """The primary test again under one other decision fixed in advance."""

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
    """A treatment against the reference on one surface: estimate, three claims, verdict, size."""

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
    """Everything said about one surface."""

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
    """Whether the effect of one treatment depends on the surface."""

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
    """What the answer was made from."""

    version: str
    seed: int | None
    seal: str | None
    events: int | None
    last_hash: str | None
    data_sha256: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """All verdicts of a table or a study, with what they rest on and what they cannot say."""

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
