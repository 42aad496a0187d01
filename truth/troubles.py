"""What may be wrong with the launches of a study, each trouble by itself."""

from __future__ import annotations

from dataclasses import dataclass

LAUNCH_SD = 0.06
"""Standard deviation of launches on one preparation, in natural logarithms (6 %)."""
USUAL_RATIO = 0.25
"""Variance between preparations over that between launches: 3 % and 6 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One way in which readings come about.

    Parameters
    ----------
    name : str
    told : str
        What it is, in one sentence.
    meaning : str
        What its table shows, in one sentence.
    why : str
        Why a promise may not be kept under it; empty where every promise should be.
    ratio : float
        Variance between preparations over variance between launches.
    spread : tuple of float
        What the standard deviation between preparations is multiplied by, treatment by treatment.
    drift : float
        Change from one preparation to the next, in standard deviations of a preparation's value.
    memory : float
        Correlation of neighbouring preparations in time.
    outliers : float
        Share of launches that are off by five standard deviations, either way.
    wear : float
        Loss with each launch of a preparation, in natural logarithms.
    items : float
        Difference between two items, in natural logarithms.
    together : float
        Share of the variance between preparations that is common to all surfaces.
    void : float
        Share of launches set aside, whatever they showed.
    void_far : float
        Share set aside of launches beyond the end of the lane.
    step : float
        Readings are rounded to multiples of this. [m]
    """

    name: str
    told: str
    meaning: str
    why: str = ""
    ratio: float = USUAL_RATIO
    spread: tuple[float, ...] = (1.0, 1.0, 1.0)
    drift: float = 0.0
    memory: float = 0.0
    outliers: float = 0.0
    wear: float = 0.0
    items: float = 0.0
    together: float = 0.0
    void: float = 0.0
    void_far: float = 0.0
    step: float = 0.0


TROUBLES = (
    Trouble(
        name="clean",
        told="Preparations scatter by 3 %, launches by 6 %, all normal and independent.",
        meaning="The error rates are what the theory says.",
    ),
    Trouble(
        name="no scatter between preparations",
        told="Only launches scatter.",
        meaning="Counting preparations costs power here, and no honesty.",
        ratio=0.0,
    ),
    Trouble(
        name="little scatter between preparations",
        told="Preparations have a tenth of the variance of launches.",
        meaning="How the scatter is shared between preparations and launches does not matter to the test.",
        ratio=0.1,
    ),
    Trouble(
        name="half the scatter",
        told="Preparations have half the variance of launches.",
        meaning="The same again.",
        ratio=0.5,
    ),
    Trouble(
        name="mostly scatter between preparations",
        told="Preparations have twice the variance of launches.",
        meaning="Where counting launches as tries would be worst, counting preparations holds.",
        ratio=2.0,
    ),
    Trouble(
        name="drift",
        told="Conditions change steadily by half a standard deviation from one preparation to the next, and "
        "nobody takes it out.",
        meaning="The random order turns drift into scatter; the rates move by a fraction of a percent.",
        why="A steady drift puts two values, not a bell, under the draw of each round: not the normal "
        "scatter that the t test is exact for.",
        drift=0.5,
    ),
    Trouble(
        name="memory",
        told="Preparations that follow each other are alike (correlation 0.8 from one to the next).",
        meaning="Rounds and a random order take most of it out.",
        why="What is alike within a round is not independent; the draw makes up for it only on the average.",
        ratio=0.5,
        memory=0.8,
    ),
    Trouble(
        name="outliers",
        told="One launch in twenty is off by five standard deviations, either way.",
        meaning="Stray launches cost power and make the test a little careful.",
        why="Long tails make the t test careful when preparations are few.",
        outliers=0.05,
    ),
    Trouble(
        name="wear",
        told="Each launch on a preparation goes 1 % less far, and 15 % of launches are set aside.",
        meaning="Wear that is alike for both treatments does no harm, even unbalanced.",
        wear=0.01,
        void=0.15,
    ),
    Trouble(
        name="different items",
        told="Two items that differ by 8 %, named; each round draws which of them gets which treatment.",
        meaning="Items as columns keep the promise.",
        items=0.08,
    ),
    Trouble(
        name="shared preparations",
        told="One preparation serves all four surfaces; 80 % of its scatter goes with it.",
        meaning="Each surface keeps its rate, and a family whose members err together errs no more often.",
        together=0.8,
    ),
    Trouble(
        name="15 % set aside",
        told="15 % of launches are set aside, whatever they showed.",
        meaning="Preparations with unequal numbers of launches are still worth one try each.",
        void=0.15,
    ),
    Trouble(
        name="40 % set aside",
        told="40 % of launches are set aside, whatever they showed.",
        meaning="Even then; a preparation that lost all of its launches drops out, and a study that lost too "
        "many has no test and claims nothing.",
        why="Studies whose preparations lost all launches have no test and claim nothing.",
        void=0.40,
    ),
    Trouble(
        name="set aside by result",
        told="The lane ends one standard deviation of a launch beyond where the better treatment usually "
        "stops, and half of the launches that pass the end are set aside.",
        meaning="Without an effect both treatments lose alike and the test holds; with one the better "
        "treatment loses its best launches and looks worse than it is, and the interval misses more often "
        "than promised. That is why a cause has to be judged without knowing the distance.",
        why="What is set aside depends on the result: the estimate itself is off, and no test can know.",
        void_far=0.5,
    ),
    Trouble(
        name="rounded to the centimetre",
        told="Launches of about six metres, read to the centimetre.",
        meaning="Nothing is lost.",
        step=0.01,
    ),
    Trouble(
        name="unequal spread",
        told="Preparations of the treatment scatter three times as much as those of the reference.",
        meaning="In pairs the test does not notice. With several preparations of each treatment in a round "
        "it errs a little more often than promised; the own-pair test beside it errs less.",
        why="The pooled scatter is not that of the comparison unless rounds are pairs. The answer says so "
        "where own-pair disagrees.",
        ratio=0.5,
        spread=(1.0, 3.0),
    ),
    Trouble(
        name="unequal spread, 1 : 1 : 2",
        told="Preparations of the second treatment scatter twice as much as those of the others.",
        meaning="The pooled scatter is too large for the first comparison and too small for the second; "
        "own-pair holds for both.",
        why="The pooled scatter belongs to no comparison. The answer says so where own-pair disagrees.",
        ratio=0.5,
        spread=(1.0, 1.0, 2.0),
    ),
    Trouble(
        name="unequal spread, 1 : 1 : 3",
        told="Preparations of the second treatment scatter three times as much as those of the others.",
        meaning="The same, worse: a study that expects this should compare two treatments at a time.",
        why="The pooled scatter belongs to no comparison. The answer says so where own-pair disagrees.",
        ratio=0.5,
        spread=(1.0, 1.0, 3.0),
    ),
)
