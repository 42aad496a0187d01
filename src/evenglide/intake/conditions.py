"""What a table must hold to be judged at all, checked over all of its launches."""

from __future__ import annotations

import numpy as np

from evenglide.intake.options import JudgeOptions
from evenglide.intake.preparations import combine
from evenglide.intake.problems import Problems
from evenglide.intake.reader import RoleReader
from evenglide.readings.launches import Factor
from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.typing import BoolArray, FloatArray

MOST_DIRECTIONS = 2


def check_names_met(treatment: Factor, options: JudgeOptions, problems: Problems) -> None:
    """Check that the reference and the treatments that stay are met."""
    names = [name for name in treatment.labels if name]
    asked = [("--reference", options.reference)] if options.reference is not None else []
    for flag, name in [*asked, *(("--stays", name) for name in options.stays)]:
        if name.strip() not in names:
            problems.add(
                "no-such-treatment",
                where=flag,
                found=quoted(name),
                expected=f"one of the treatments {listing(names)}",
                remedy=did_you_mean(name.strip(), names, otherwise="Name one of these."),
            )


def check_treatments(
    treatment: Factor, surface: Factor, valid: BoolArray, *, written: BoolArray, problems: Problems
) -> None:
    """Check that there is something to compare: a surface with valid launches of two treatments.

    Launches whose treatment or surface is not `written` are problems of their own and left out.
    """
    if not valid.any():
        problems.add(
            "no-valid-launches",
            where="--void",
            found=f"all {len(valid)} launches set aside",
            expected="valid launches of two treatments",
            remedy="Check the column of --void: blank, 0, no and false mean no, anything else means yes.",
        )
        return
    valid = valid & written
    met = np.unique(treatment.codes[valid])
    if not len(met):
        return
    if len(met) == 1:
        problems.add(
            "one-treatment",
            where="--treatment",
            found=f"valid launches of {quoted(treatment.labels[met[0]])} only",
            expected="at least two treatments",
            remedy="Name the column that tells the treatments apart.",
        )
        return
    pairs = combine([surface.codes[valid], treatment.codes[valid]])
    _, first = np.unique(pairs, return_index=True)
    if np.bincount(surface.codes[valid][first]).max() < 2:
        problems.add(
            "no-surface-with-two-treatments",
            where="--treatment, --surface",
            found="valid launches of one treatment on each surface",
            expected="a surface with two treatments",
            remedy="Launch both treatments on one surface, or leave --surface out if the surfaces are one.",
        )


def check_directions(direction: Factor, problems: Problems) -> None:
    """Check that the lane was run in at most two directions."""
    names = [name for name in direction.labels if name]
    if len(names) > MOST_DIRECTIONS:
        problems.add(
            "too-many-directions",
            where="--direction",
            found=f"{len(names)} directions: {listing(names)}",
            expected="at most two, such as out and back",
            remedy="Write one name for each direction of the lane; another lane is another block or surface.",
        )


def check_positive(value: FloatArray, valid: BoolArray, reader: RoleReader) -> None:
    """Check that every valid reading has a logarithm."""
    for index in np.flatnonzero(valid & (value <= 0)):
        reader.problems.add(
            "not-positive",
            where=reader.address("response", int(index)),
            found=reader.shown("response", int(index)),
            expected="a number above nought, as ratios need",
            remedy="Correct the reading, set the launch aside (--void), or compare differences: "
            '--scale difference, with a margin such as --matters "0.3 m".',
        )
