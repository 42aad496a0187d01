"""How the answer was reached, in plain words, and what a launch can say about riding."""

from __future__ import annotations

from evenglide.answer.results import Answer
from evenglide.report.halfway import checks_method
from evenglide.report.wording import Wording
from evenglide.show.numbers import NO_BREAK, count, plain

Paragraph = tuple[str, str]

RUN_OUT = "run-out"


def method(answer: Answer) -> tuple[Paragraph, ...]:
    """Explain the method paragraph by paragraph: heading and text."""
    return (
        ("The preparation counts, not the launch", _unit(answer)),
        ("How a difference is judged", _test(answer)),
        ("Three questions", _claims(answer)),
        *((("Half-way checks", checks_method(answer)),) if checks_method(answer) else ()),
        ("What is guaranteed", guarantees(answer)),
        (
            "A second opinion",
            "A randomisation test asks how often chance alone, in drawing which preparation gets which "
            "treatment, "
            "would have put the treatments as far apart as they are. It needs no assumption about how "
            "readings "
            "scatter, only that the draw was fair. It stands beside the answer and does not decide it.",
        ),
        (
            "What is never done",
            "Launches are not counted as if each were a fresh try. What that would have claimed stands "
            "among the "
            "numbers for the referee, to show how much too sure it would have been.",
        ),
    )


def guarantees(answer: Answer) -> str:
    """Print the guarantees, in the words that belong to them, with the level and the family."""
    level = f"{plain(100 * answer.level, digits=4)}{NO_BREAK}%"
    kinds = "“makes a difference” / “no difference that matters” / “by an amount that matters”"
    if answer.adjust == "none":
        return (
            f"The chance of a false {kinds} is at most {level} each, for one comparison taken alone. "
            f"Nothing is promised over the {count(answer.family_size, 'comparison')} together."
        )
    promise = f"The chance of any false {kinds} is at most {level} each, over the family"
    if answer.main is not None:
        main = count(answer.main_family_size or 1, "comparison")
        others = count(answer.family_size, "comparison")
        return (
            f"{promise}. There are two families: {main} on {answer.main}, and {others} on all other surfaces."
        )
    return f"{promise} of {count(answer.family_size, 'comparison')}."


def _unit(answer: Answer) -> str:
    averaged = (
        "logarithms of its launches are averaged" if answer.scale == "ratio" else "launches are averaged"
    )
    return (
        "A preparation is one piece of gear made ready once with one treatment. Twenty launches on one coat "
        "are one "
        f"preparation, because they share that coat. For each preparation the {averaged} into one value, "
        "and every "
        "preparation counts the same. Launches set aside do not enter; a launch that left the lane while "
        "gliding "
        "enters with the distance it had reached."
    )


def _test(answer: Answer) -> str:
    compared = "ratios" if answer.scale == "ratio" else "differences"
    shared = {
        "holm": "The error rate is shared between all comparisons by Holm’s method (1979), for each "
        "question apart.",
        "both": "The error rate is shared equally between all comparisons (Bonferroni), for each question "
        "apart.",
        "none": "The error rate is not shared: each comparison is judged as if it were the only one.",
    }[answer.adjust]
    return (
        f"The values are compared as {compared}, after what the rounds (and the pieces of gear, where "
        "named) have in "
        f"common is taken out, by a t test over preparations. {shared}"
    )


def _claims(answer: Answer) -> str:
    return (
        "Is there a difference? A two-sided test. Is there none that matters? Two one-sided tests against "
        "the two "
        "edges of what would matter, both of which must hold. Is it by an amount that matters? A test "
        "against those "
        "same edges from outside. A question that none of them settles stays open; it is not an answer of "
        "“no "
        "difference”."
    )


def riding(answer: Answer, wording: Wording) -> tuple[Paragraph, ...]:
    """Say what a launch can and cannot tell about riding; nothing where the response is no distance."""
    if not wording.distance:
        return ()
    return (
        ("Slower than riding", _speed(answer)),
        (
            "Nobody on it",
            "Dry friction slows a light and a heavy board alike. What comes from a film of water, from air "
            "or from "
            "spray weighs about as one over the mass, so it slows an unloaded board far more. Where such "
            "forces matter, "
            "a launch without a rider cannot settle a question about riding with one.",
        ),
        (
            "One number from each launch",
            "A launch speed and a distance give one number: how strongly the ground held on the whole way. "
            "They do "
            "not show how that changes with speed, however many launches there are. A statement about "
            "another speed "
            "would be an assumption, not an estimate.",
        ),
    )


def _speed(answer: Answer) -> str:
    if any(surface.mark == RUN_OUT for surface in answer.surfaces):
        return (
            "A run-out tells of gliding at about two thirds of the launch speed: 0.67 of it where "
            "resistance grows "
            "with speed, 0.71 where it grows with its square (worked out from the equation of motion), less "
            "where drag "
            "is most of it. Riding is faster than that."
        )
    return "The launch tells of gliding at its own speed, which is lower than that of riding."
