"""The catalogue of notes: every remark that an answer can carry, in one place.

A remark has a code, a severity and a sentence. ``limits``: a claim that this data cannot carry;
``warns``: read with care; ``fine``: good to know. The severity given here is the usual one; where
the analysis knows better it passes its own. Each code is a heading in the documentation page on
what a test cannot say. ``{count:launch was|launches were}`` chooses by the number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evenglide.typing import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A line of the catalogue: the usual severity, and the sentence with room for facts."""

    severity: Severity
    text: str


AUDIT: Mapping[str, Entry] = {
    "at-least": Entry(
        severity="warns",
        text="{count} of {launches} launches left the lane while still gliding and count with the "
        "distance they had reached. How far they would have gone is not known: upper ends are too low, "
        "and a difference may be hidden or larger.",
    ),
    "blocks-broken": Entry(
        severity="warns",
        text="{count:round|rounds} of {blocks} with only one of the treatments ({names}); they cannot "
        "compare anything.",
    ),
    "carry-over": Entry(
        severity="limits",
        text="{treatment} does not come off, yet {item} was launched with {later} after it. What is "
        "read as {later} may still be {treatment}.",
    ),
    "check-not-possible": Entry(
        severity="warns",
        text="The study states a half-way check that its plan cannot have ({found}). It was left out.",
    ),
    "coarse-readings": Entry(
        severity="warns",
        text="Readings come in steps of {step}, more than a third of the scatter of launches "
        "({scatter}). Part of the scatter is the tape's.",
    ),
    "days-unknown": Entry(
        severity="fine", text="The table does not say on which days the launches were made."
    ),
    "decimal-comma": Entry(severity="fine", text="“{column}” was read with a decimal comma."),
    "encoding-by-mark": Entry(
        severity="fine",
        text="The file says by its first bytes that it is {encoding}; it was read so, not as {asked}.",
    ),
    "flag-read-as-yes": Entry(
        severity="warns",
        text="“{text}” in “{column}” was read as yes ({rows} rows). Blank, 0, no and false mean no.",
    ),
    "days-follow-treatment": Entry(
        severity="limits",
        text="Within rounds, the days go with the treatment (share {share}). What differs between "
        "the days would look like the treatment.",
    ),
    "few-preparations": Entry(
        severity="warns",
        text="How much preparations scatter is known from {df} degrees of freedom only. Every claim here "
        "hangs on that one guess at the scatter.",
    ),
    "item-is-treatment": Entry(
        severity="limits",
        text="Each {item} carries one treatment only, so the {item} is what counts as one try: {count}"
        " in all. A difference between the two may be a difference between the pieces of gear.",
    ),
    "label-reused": Entry(
        severity="fine",
        text="{labels} labels in “{column}” stand in several places ({examples}); each place was taken"
        " as a preparation of its own.",
    ),
    "mark-assumed": Entry(
        severity="fine", text="Nothing says how launches were measured; they were taken as run-outs."
    ),
    "marks-mixed": Entry(
        severity="limits",
        text="Launches on one surface were measured in different ways ({marks}). Their numbers do not "
        "mean the same.",
    ),
    "names-alike": Entry(
        severity="warns",
        text="Some names in “{column}” differ only in case or spaces ({names}) and were kept apart.",
    ),
    "no-blocks": Entry(
        severity="warns",
        text="Nothing says which preparations were compared under like conditions, so a change of the "
        "day or the surface counts as scatter, or as a difference if it fell on one treatment.",
    ),
    "no-order": Entry(
        severity="warns",
        text="The order of the launches is not known. Whether the surface or the rig drifted cannot be"
        " checked.",
    ),
    "no-scatter": Entry(
        severity="limits",
        text="The preparations agree to the last digit. Readings are too coarse to show how much "
        "preparations scatter, so there is no interval and no test.",
    ),
    "no-two-way-value": Entry(
        severity="warns",
        text="{count:preparation was|preparations were} launched both ways, without a two-way value: "
        "a run-out of nought or less has no deceleration.",
    ),
    "no-record-of-order": Entry(
        severity="warns",
        text="Nothing shows that the order was drawn at random before the first launch. The "
        "randomisation test takes it that, within each round, any preparation could have got any "
        "treatment.",
    ),
    "one-day": Entry(
        severity="warns",
        text="All launches were made on one day. How the effect changes from day to day is not known.",
    ),
    "one-direction": Entry(
        severity="warns",
        text="{count:preparation was|preparations were} launched in one direction only, without a value "
        "where two are averaged.",
    ),
    "one-preparation-each": Entry(
        severity="limits",
        text="There is one preparation of {treatments}. The answer is about these very preparations; "
        "whether fresh ones would do the same cannot be said, however many launches there are.",
    ),
    "order-follows-treatment": Entry(
        severity="limits",
        text="Treatment and order go together (correlation {correlation}). A drift of the surface, the"
        " rig or the wind would look like the treatment.",
    ),
    "order-repeated": Entry(
        severity="warns",
        text="{count:launch shares its|launches share their} number in the order with another. "
        "A row may stand twice.",
    ),
    "randomisation-cannot-reject": Entry(
        severity="warns",
        text="With so few ways to have drawn the order, the randomisation test of {treatment} cannot "
        "reach {needed}; its least value here is {least}.",
    ),
    "rows-as-preparations": Entry(
        severity="warns",
        text="No column names the preparations, so each row counts as one. If several launches were "
        "made on one preparation, they are not independent and every interval here is too narrow.",
    ),
    "scale-chosen": Entry(
        severity="fine", text="Nothing was said about the scale; {scale} were compared because {reason}."
    ),
    "sheet-chosen": Entry(severity="fine", text="The workbook has several sheets; {sheet} was read."),
    "spread-unequal": Entry(
        severity="warns",
        text="Preparations of {wide} scatter {times} times as much as those of {narrow}. The test "
        "takes one scatter for all.",
    ),
    "surface-tied-to-coat-age": Entry(
        severity="warns",
        text="The surfaces were visited in the same order on nearly every preparation, so the effect "
        "on a later surface is the effect of a more worn coat (share of coat age that goes with "
        "the surface: {share}).",
    ),
    "these-items-only": Entry(
        severity="warns",
        text="What is special to each piece of gear is taken out, so the answer is about these {count} "
        "({names}). Whether other gear of the kind would do the same, it does not say.",
    ),
    "treatment-missing": Entry(severity="warns", text="{treatments} without a value on {place}."),
    "unequal-launches": Entry(
        severity="fine",
        text="Preparations have between {least} and {most} valid launches; each preparation counts the same.",
    ),
    "stopped-before-mark": Entry(
        severity="warns",
        text="{count} of {launches} launches had stopped before the time of their mark and count with where "
        "they stood. That is a run-out, not a place after a time: beyond it the two treatments are no "
        "longer compared at one moment of their glide.",
    ),
    "tape-not-at-zero": Entry(
        severity="fine",
        text="For {count} of {launches} launches the tape did not begin where the gear was released: what it "
        "stood at there, {least} to {most} {unit}, was taken off what was read.",
    ),
    "void-and-at-least": Entry(
        severity="fine",
        text="{rows} launches are marked both as set aside and as at least; they count as set aside.",
    ),
    "voids-unequal": Entry(
        severity="warns",
        text="Launches were set aside more often with one treatment than with another ({counts}). What"
        " was set aside may belong to the effect.",
    ),
}
"""Remarks on how the data came about, by code."""

NOTES: Mapping[str, Entry] = {
    "at-least": Entry(
        severity="warns", text="{count:launch counts|launches count} with a distance at least reached."
    ),
    "closing-out-of-reach": Entry(
        severity="warns", text="How many rounds would close the question cannot be said: {reason}."
    ),
    "estimate-only": Entry(
        severity="fine", text="The Hodges-Lehmann line gives an estimate without an interval or a test."
    ),
    "few-preparations": Entry(
        severity="warns",
        text="The scatter is known from {df} degrees of freedom only; the interval is wide for that reason.",
    ),
    "item-is-treatment": Entry(
        severity="limits",
        text="The treatment never changed {item}: what the treatment does and what the {item} does "
        "cannot be told apart.",
    ),
    "joint-by-chance": Entry(
        severity="fine",
        text="The joint randomisation p rests on {draws} random orders (standard error {error}).",
    ),
    "line-not-available": Entry(severity="fine", text="Not reckoned: {reason}."),
    "naive-not-available": Entry(
        severity="fine", text="What launches taken as independent would say cannot be had: {reason}."
    ),
    "no-contrast": Entry(
        severity="limits",
        text="{treatment} and {reference} cannot be compared here: no chain of rounds joins them.",
    ),
    "no-degrees-of-freedom": Entry(
        severity="limits",
        text="There are too few preparations to know their scatter, so there is no interval and no test.",
    ),
    "no-scatter": Entry(
        severity="limits",
        text="The preparations agree to the last digit. Readings are too coarse to show how much "
        "preparations scatter, so there is no interval and no test.",
    ),
    "one-direction": Entry(
        severity="warns", text="{count:preparation lacks|preparations lack} a direction, and so a value here."
    ),
    "one-launch-each": Entry(
        severity="fine",
        text="With one launch on a preparation the scatter of launches cannot be told apart.",
    ),
    "one-preparation": Entry(
        severity="limits", text="One preparation of a treatment shows nothing of how preparations scatter."
    ),
    "no-two-way-value": Entry(
        severity="warns", text="{count:preparation has|preparations have} no two-way value here."
    ),
    "order-changed": Entry(
        severity="warns",
        text="Treatments were not given as drawn, so what could have been drawn says nothing here.",
    ),
    "own-pair-items": Entry(
        severity="fine",
        text="With gear that differs and rounds that are no pairs, the two treatments alone give no test.",
    ),
    "own-pair-not-available": Entry(
        severity="fine", text="The two treatments alone give no test here: {reason}."
    ),
    "preparations-not-above-launches": Entry(
        severity="fine",
        text="Taken from sums of squares, the variance between preparations comes out at {variance}, not "
        "above nought (between launches: {launches}). Preparations differ no more than their launches "
        "explain; with few preparations that may be chance.",
    ),
    "randomisation-by-chance": Entry(
        severity="fine",
        text="There are {assignments} ways in which the order could have been drawn, too many to count "
        "out. The randomisation p and its interval rest on {draws} of them, drawn at random (standard error "
        "of p {error}).",
    ),
    "randomisation-not-available": Entry(
        severity="fine", text="The randomisation test cannot be had: {reason}."
    ),
    "randomisation-unbounded": Entry(
        severity="fine",
        text="With {assignments} possible orders the randomisation test cannot exclude any effect at "
        "this level (least p {least}).",
    ),
    "ratio-out-of-range": Entry(
        severity="fine", text="The ratio is too large or too small for a computer's number."
    ),
    "reml-boundary": Entry(
        severity="fine",
        text="The mixed model sees no scatter between preparations beyond that of their launches. Its "
        "{df} degrees of freedom then count launches as if each were a try of its own; there are "
        "{preparations} preparations. The verdict does not rest on it.",
    ),
    "reml-not-available": Entry(
        severity="fine", text="The mixed model of launches cannot be fitted: {reason}."
    ),
    "settled-at-a-check": Entry(
        severity="fine",
        text="Settled at half-way check {check}, after {preparations} of {planned} preparations. What was "
        "launched here later does not enter.",
    ),
    "spread-unequal": Entry(
        severity="limits",
        text="Judged from the preparations of {treatment} and {reference} alone, the verdict would be "
        "“{other}”. Another treatment's scatter decides here.",
    ),
    "surface-pair-not-tested": Entry(
        severity="fine", text="Some pairs of surfaces have too few preparations for a test."
    ),
    "surfaces-not-joined": Entry(
        severity="warns", text="There is no test over all surfaces together: {reason}."
    ),
    "treatment-missing": Entry(severity="limits", text="{missing} no value on this surface."),
}
"""Remarks on one contrast or one comparison of surfaces, by code."""
