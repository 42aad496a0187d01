"""The seal of a plan: one fingerprint over study and list of launches, and a short text to post.

The fingerprint is the SHA-256 of five lines that anybody can write with `sha256sum` and an editor::

    evenglide.seal/1
    study.toml <SHA-256 of its bytes>
    schedule.csv <SHA-256 of its bytes>
    order <seed> <rule>
    version <version of evenglide>

each ended by a line feed, in UTF-8.
"""

from __future__ import annotations

import hashlib
import textwrap
from dataclasses import dataclass

from evenglide.show.numbers import NO_BREAK, count, listed
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study

SEAL_FORMAT = "evenglide.seal/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """What was fixed before the first launch.

    Parameters
    ----------
    study_text, schedule_text : str
        Both files byte for byte, in UTF-8.
    order_rule : str
        From which orders the order was drawn.
    seed : int
    version : str
        Of evenglide.
    fingerprint : str
        64 hexadecimal digits.
    """

    study_text: str
    schedule_text: str
    order_rule: str
    seed: int
    version: str
    fingerprint: str


def make_seal(study_text: str, schedule_text: str, *, schedule: Schedule, version: str) -> Seal:
    """Seal two texts as they stand.

    Parameters
    ----------
    study_text, schedule_text : str
        Whole files; line ends and a byte order mark included.
    schedule : Schedule
        What `schedule_text` says.
    version : str

    Returns
    -------
    Seal
    """
    return Seal(
        study_text=study_text,
        schedule_text=schedule_text,
        order_rule=schedule.rule,
        seed=schedule.seed,
        version=version,
        fingerprint=fingerprint(
            study_text, schedule_text, order_rule=schedule.rule, seed=schedule.seed, version=version
        ),
    )


def fingerprint(study_text: str, schedule_text: str, *, order_rule: str, seed: int, version: str) -> str:
    """Take the fingerprint of a plan.

    Parameters
    ----------
    study_text, schedule_text : str
    order_rule : str
    seed : int
    version : str

    Returns
    -------
    str
        64 hexadecimal digits.

    Examples
    --------
    >>> fingerprint("", "", order_rule="drawn", seed=1, version="0")[:8]
    'e8813454'
    """
    return _sha256(sealed_lines(study_text, schedule_text, order_rule=order_rule, seed=seed, version=version))


def sealed_lines(study_text: str, schedule_text: str, *, order_rule: str, seed: int, version: str) -> str:
    """Write the five lines that the fingerprint is taken of; parameters as for `fingerprint`."""
    lines = (
        SEAL_FORMAT,
        f"study.toml {_sha256(study_text)}",
        f"schedule.csv {_sha256(schedule_text)}",
        f"order {seed} {' '.join(order_rule.split())}",
        f"version {version}",
    )
    return "".join(f"{line}\n" for line in lines)


def text_to_post(seal: Seal, study: Study, schedule: Schedule) -> str:
    """Write the short text that is posted before the first launch.

    Parameters
    ----------
    seal : Seal
    study : Study
    schedule : Schedule

    Returns
    -------
    str
        Some lines of plain text, without a line break at the end.
    """
    counted = sum(1 for launch in schedule.launches if launch.kind == "launch")
    rounds = len({launch.block for launch in schedule.launches})
    surfaces = listed([surface.name for surface in study.surfaces])
    compared = f"{listed([one.name for one in study.treatments[1:]])} against {study.reference.name}"
    paragraphs = [
        study.title,
        f"Planned before the first launch: {compared}; {count(rounds, 'round')}, "
        f"{count(counted, 'launch', 'launches')} that count, on {surfaces}. What counts as an answer, why a "
        "launch may be set aside and the order of all "
        "launches are fixed; the fingerprint below changes if a single letter of them does.",
    ]
    if study.looks > 1:
        checks = count(study.looks - 1, "half-way check")
        paragraphs.append(f"{checks} before the end, when and by which bounds fixed as well.")
    if study.paid_by:
        paragraphs.append(f"Paid for by: {study.paid_by}.")
    told = "\n".join(textwrap.fill(paragraph, 88) for paragraph in paragraphs).replace(NO_BREAK, " ")
    return f"{told}\nSealed with evenglide {seal.version}, seed {seal.seed}, SHA-256:\n{seal.fingerprint}"


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
