r"""What is held of the scatter before a study begins, and how uncertain that is.

The value of a preparation on a surface has variance :math:`\tau^2 + \sigma^2/r` with r launches. Of
:math:`\tau^2` only an estimate :math:`s^2` worth :math:`\nu` degrees of freedom is known; what may be true is
taken as :math:`\tau^2 = \nu s^2/\chi^2_\nu`. :math:`\sigma^2` is taken as known: there are many launches
to learn it from, and it is divided by r.

Without any knowledge: 3 % between preparations, worth three degrees of freedom (four in five between 2.1 and
6.8 %), and 6 % between launches. Common practice, no source: wide enough to hold what hand-made
preparations of boards and sleds usually do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenglide.analysis.scatter import SplitScatter
from evenglide.errors import Problem, StudyError
from evenglide.study.study import Study

UNKNOWN_PREPARATIONS = 0.03
UNKNOWN_LAUNCHES = 0.06
UNKNOWN_WORTH = 3.0
UNKNOWN_SHARED = (0.0, 0.8)
"""Share of the scatter between preparations that one coat carries to every surface: both are looked at."""
FEWEST_LAUNCH_DF = 4
"""With fewer degrees of freedom the scatter between launches is no estimate to plan with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterBelief:
    """Scatter that a plan is judged by.

    Parameters
    ----------
    preparations : float
        SD between preparations of one treatment, not negative; analysis scale.
    launches : float
        SD between launches of one preparation, not negative; analysis scale.
    df : float or None
        Degrees of freedom that `preparations` is worth; None where it is taken as known.
    shared_part : tuple of float
        Share of the variance between preparations that is the same on every surface, where one preparation
        serves several; each value is looked at. [1]
    voids : float
        Share of launches expected to be set aside, each by itself. [1]
    shown_preparations_variance : float or None
        Variance between preparations as a pilot estimated it, where that was negative and is used as 0.

    Raises
    ------
    StudyError
        With everything that is out of range.
    """

    preparations: float
    launches: float
    df: float | None = None
    shared_part: tuple[float, ...] = UNKNOWN_SHARED
    voids: float = 0.0
    shown_preparations_variance: float | None = None

    def __post_init__(self) -> None:
        problems = _problems(self)
        if problems:
            raise StudyError(problems)

    def variance(self, launches: int) -> float:
        """Variance of the value of a preparation with so many launches, nothing set aside."""
        return self.preparations**2 + self.launches**2 / launches

    def shared_parts(self, *, shared: bool, surfaces: int) -> tuple[float, ...] | tuple[None]:
        """Shared parts to look at; one None where there is nothing to share."""
        return self.shared_part if shared and surfaces > 1 else (None,)

    def known(self) -> ScatterBelief:
        """The same scatter, taken as known."""
        return replace(self, df=None)


def unknown_scatter() -> ScatterBelief:
    """Wide range of what is usual on the ratio scale, for who knows nothing yet.

    Returns
    -------
    ScatterBelief
    """
    return ScatterBelief(preparations=UNKNOWN_PREPARATIONS, launches=UNKNOWN_LAUNCHES, df=UNKNOWN_WORTH)


def study_belief(study: Study) -> ScatterBelief:
    """Belief that a study states; what it leaves out is taken as usual.

    Parameters
    ----------
    study : Study

    Returns
    -------
    ScatterBelief

    Raises
    ------
    StudyError
        If scatter is out of range, or not stated on the difference scale, where nothing is usual.
    """
    stated = study.scatter
    missing = stated.preparations is None or stated.launches is None
    if missing and study.scale == "difference":
        raise StudyError([_unstated()])
    worth = UNKNOWN_WORTH if stated.as_if_from is None else float(stated.as_if_from)
    return ScatterBelief(
        preparations=UNKNOWN_PREPARATIONS if stated.preparations is None else stated.preparations,
        launches=UNKNOWN_LAUNCHES if stated.launches is None else stated.launches,
        df=worth,
        voids=study.expected_voids or 0.0,
    )


def pilot_belief(splits: Sequence[SplitScatter], *, voids: float = 0.0) -> ScatterBelief:
    """Belief from the surfaces of a pilot that was judged, pooled by degrees of freedom.

    A variance between preparations that is estimated below nought is used as nought and kept to be shown.

    Parameters
    ----------
    splits : sequence of SplitScatter
        One for each surface whose test has degrees of freedom.
    voids : float
        Share of launches expected to be set aside. [1]

    Returns
    -------
    ScatterBelief

    Raises
    ------
    StudyError
        If no surface has a preparation more than its rounds and treatments need, or launches to tell
        scatter between launches from.
    """
    usable = [one for one in splits if one.launches is not None and one.preparations is not None]
    if not splits or not usable:
        raise StudyError([_no_preparations() if not splits else _no_launches()])
    df = np.array([one.df for one in usable], dtype=np.float64)
    launch_df = np.array([one.launches_df for one in usable], dtype=np.float64)
    if launch_df.sum() < FEWEST_LAUNCH_DF:
        raise StudyError([_no_launches()])
    between = float(df @ np.array([one.preparations for one in usable])) / float(df.sum())
    within = float(launch_df @ np.array([one.launches for one in usable])) / float(launch_df.sum())
    return ScatterBelief(
        preparations=float(np.sqrt(max(between, 0.0))),
        launches=float(np.sqrt(within)),
        df=float(df.sum()),
        voids=voids,
        shown_preparations_variance=between if between < 0 else None,
    )


def rig_belief(launches: float, *, voids: float = 0.0) -> ScatterBelief:
    """Belief where a check of the launcher tells how launches scatter, and nothing tells about preparations.

    Parameters
    ----------
    launches : float
        SD between launches of one preparation; analysis scale.
    voids : float
        Share of launches expected to be set aside. [1]

    Returns
    -------
    ScatterBelief
        With what is usual between preparations.

    Raises
    ------
    StudyError
        If the scatter is negative.
    """
    return replace(unknown_scatter(), launches=launches, voids=voids)


# ---------------------------------------------------------------------------------------- problems


def _problems(belief: ScatterBelief) -> list[Problem]:
    problems = []
    for name in ("preparations", "launches"):
        value = getattr(belief, name)
        if not (np.isfinite(value) and value >= 0):
            problems.append(
                _problem(
                    "bad-scatter",
                    f"scatter.{name}",
                    f"{value:g}",
                    "a scatter above nought",
                    'State it as usual where you launch, or write from = "unknown".',
                )
            )
    if not problems and belief.preparations == 0 and belief.launches == 0:
        problems.append(
            _problem(
                "bad-scatter",
                "scatter",
                "no scatter at all",
                "preparations or launches that scatter",
                'State what is usual where you launch, or write from = "unknown".',
            )
        )
    if belief.df is not None and not belief.df > 0:
        problems.append(
            _problem(
                "bad-scatter",
                "scatter.as_if_from",
                f"{belief.df:g}",
                "one or more",
                "State how many preparations beyond the first it was seen on, or leave it out.",
            )
        )
    if not belief.shared_part or any(not 0 <= part <= 1 for part in belief.shared_part):
        told = ", ".join(f"{part:g}" for part in belief.shared_part) or "nothing"
        problems.append(
            _problem("out-of-range", "shared part", told, "shares from 0 to 1", "Take 0 and 0.8.")
        )
    if not 0 <= belief.voids < 1:
        problems.append(
            _problem("bad-share", "voids.expected", f"{belief.voids:g}", "from 0 to below 1", "Take 0.05.")
        )
    return problems


def _unstated() -> Problem:
    return _problem(
        "bad-scatter",
        "scatter",
        "nothing",
        "scatter of preparations and of launches in the response's unit",
        "State both; what is usual is only known in per cent.",
    )


def _no_preparations() -> Problem:
    return _problem(
        "one-preparation",
        "scatter.from",
        "a pilot without a second preparation to compare on any surface",
        "two rounds or more, or a treatment prepared twice under like conditions",
        "Prepare once more and launch again, or state the scatter of preparations.",
    )


def _no_launches() -> Problem:
    return _problem(
        "one-launch",
        "scatter.from",
        "a pilot with too few launches of one preparation",
        f"preparations launched more than once, {FEWEST_LAUNCH_DF} launches more than preparations in all",
        "Launch each preparation several times, or state the scatter of launches.",
    )


def _problem(code: str, *told: str) -> Problem:
    where, found, expected, remedy = told
    return Problem(code=code, where=where, found=found, expected=expected, remedy=remedy)
