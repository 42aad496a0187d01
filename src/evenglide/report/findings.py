"""A finding: one contrast with the surface and the answer it belongs to, ready to be told or drawn.

Sentences, lanes and tables all ask the same questions of a contrast: which interval is its bar, is
it settled, does the bar lie inside or beyond the difference that matters. They are answered once,
here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from evenglide.answer.results import Answer, Contrast, SurfaceAnswer, TreatmentFacts
from evenglide.report.wording import Effects, Wording
from evenglide.show.numbers import spelled
from evenglide.typing import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One contrast on one surface of one answer, and the words for more and less."""

    answer: Answer
    surface: SurfaceAnswer
    contrast: Contrast
    wording: Wording

    @property
    def effects(self) -> Effects:
        """Writer of effects for this surface."""
        return Effects(
            scale=self.answer.scale,
            unit=self.answer.response.unit,
            wording=self.wording,
            margin=self.surface.margin,
        )

    @property
    def bar(self) -> Interval | None:
        """Interval that stands on the first screen, and is drawn as the bar.

        The one behind "no difference that matters" where that was settled, so that bar and words
        agree; otherwise the one that shares the error rate over the family.
        """
        return (
            self.contrast.interval_alike if self.contrast.size == "small" else self.contrast.interval_adjusted
        )

    @property
    def is_settled(self) -> bool:
        """Whether the question was answered, by a difference or by none that matters."""
        return self.contrast.verdict != "open"

    @property
    def is_beyond(self) -> bool:
        """Whether the whole bar lies outside the difference that matters, on one side."""
        if self.bar is None or self.surface.margin is None:
            return False
        (low, high), (lower_edge, upper_edge) = self.bar, self.surface.margin
        return (low is not None and low >= upper_edge) or (high is not None and high <= lower_edge)

    @property
    def is_inside(self) -> bool:
        """Whether the whole bar lies within the difference that matters."""
        if self.bar is None or self.surface.margin is None:
            return False
        (low, high), (lower_edge, upper_edge) = self.bar, self.surface.margin
        return low is not None and high is not None and lower_edge < low and high < upper_edge

    @property
    def name(self) -> str:
        """Name that tells this finding from the others: its surface, its treatment, or both."""
        parts = []
        if self.surface.surface is not None:
            parts.append(self.surface.surface)
        if self.surface.surface is None or len(self.surface.contrasts) > 1:
            parts.append(self.contrast.treatment)
        return ": ".join(parts)

    @property
    def spoken(self) -> str:
        """The same name inside a sentence: ``hot wax on groomed snow``."""
        surface = self.surface.surface
        if surface is None:
            return self.contrast.treatment
        return surface if len(self.surface.contrasts) == 1 else f"{self.contrast.treatment} on {surface}"

    @property
    def reference(self) -> TreatmentFacts | None:
        """Counts and mean of the reference on this surface."""
        return self.facts_of(self.contrast.reference)

    @property
    def treated(self) -> TreatmentFacts | None:
        """Counts and mean of the treatment on this surface."""
        return self.facts_of(self.contrast.treatment)

    def facts_of(self, treatment: str) -> TreatmentFacts | None:
        """Counts and mean of any treatment on this surface."""
        return next((facts for facts in self.surface.treatments if facts.treatment == treatment), None)

    def has_note(self, code: str) -> bool:
        """Whether the contrast carries a remark of this code."""
        return any(note.code == code for note in self.contrast.notes)

    @property
    def sharing(self) -> str | None:
        """What shares the error rate, ``four surfaces`` or ``six comparisons``; None where nothing does."""
        size = self.answer.family_size
        if self.answer.main is not None and self.surface.surface == self.answer.main:
            size = self.answer.main_family_size or 1
        if self.answer.adjust == "none" or size < 2:
            return None
        one_each = all(len(surface.contrasts) == 1 for surface in self.answer.surfaces)
        return f"{spelled(size)} {'surfaces' if one_each else 'comparisons'}"


def findings_of(answer: Answer, wording: Wording) -> Iterator[Finding]:
    """Yield every contrast of an answer in its order."""
    for surface in answer.surfaces:
        for contrast in surface.contrasts:
            yield Finding(answer=answer, surface=surface, contrast=contrast, wording=wording)
