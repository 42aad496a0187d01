"""You will object: the objections that such a study meets, and how its data answer each.

A reply is filled from what was recorded. Where nothing was recorded that speaks to an objection, the
second sentence stands: it says so, instead of arguing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An objection in a sceptic's words, the reply with room for facts, and the reply without data."""

    objection: str
    reply: str
    unchecked: str


OBJECTIONS: Mapping[str, Entry] = {
    "gear-differed": Entry(
        objection="The gear differed, not the treatment.",
        reply="{items} carried both treatments in turn; what one goes farther than the other is taken out.",
        unchecked="Not checked: no piece of gear carried both treatments, so the two cannot be told apart.",
    ),
    "surface-changed": Entry(
        objection="The surface changed while you were at it.",
        reply="The plan has the treatments launched in turn on the same ground within each of "
        "{rounds:round|rounds}. A steady drift taken out as well leaves {verdicts}.",
        unchecked="Not checked: so few preparations cannot tell a steady drift from the treatments. Within "
        "each of {rounds:round|rounds} both treatments were launched in turn on the same ground.",
    ),
    "you-knew": Entry(
        objection="You knew which was which.",
        reply="Treatments were hidden from {hidden}. Asked for a guess, they were right {right:time|times} "
        "out of {asked}.",
        unchecked="Not checked: {hidden}.",
    ),
    "dropped-runs": Entry(
        objection="You dropped the bad runs.",
        reply="{aside} of {launches} launches {were} set aside ({counts}), {known}. Counting all of "
        "them for, then all of them against the treatment leaves {verdicts}.",
        unchecked="No launch was set aside: {launches} of {launches} count.",
    ),
    "coat-wore": Entry(
        objection="The coat wore off on the way.",
        reply="From one launch to the next on the same preparation, all treatments together, the distance "
        "changed by {wear} (in brackets {confidence} intervals, from launches on one coat). {checks}",
        unchecked="Not checked: one launch on each preparation cannot show wear.",
    ),
    "not-off": Entry(
        objection="The treatment was not off when it was called bare.",
        reply="After stripping, {count:launch was|launches were} made to see: {ratio} of what bare gave.",
        unchecked="Not checked: no launches were made after stripping to see.",
    ),
    "slower-than-riding": Entry(
        objection="A launch is slower than a ride.",
        reply="",
        unchecked="True. A launch tells of gliding at about two thirds of its release speed and with nobody "
        "on it. This data cannot say what happens at riding speed.",
    ),
    "few-rounds": Entry(
        objection="Only {rounds:round|rounds}?",
        reply="{preparations:fresh preparation|fresh preparations}. How far chance alone can carry so few is "
        "in the width of every bar. Of {questions:comparison|comparisons}, {open:stays|stay} open.",
        unchecked="",
    ),
    "one-tin": Entry(
        objection="It was one tin.",
        reply="{batches} batches were used: {names}.",
        unchecked="{batches}",
    ),
    "paid": Entry(
        objection="You were paid for it.",
        reply="{paid_by} paid for it.",
        unchecked="Not said: the study does not tell who paid.",
    ),
}
"""Objections by code, in the order in which they are told."""
