r"""What spread of launch speed does to spread of distance, and what a measured speed can take away.

Notation: CV = standard deviation over mean, small; n = `launch_exponent`, 2 for dry friction. First order:

.. math:: CV_d^2 = (n\,CV_v)^2 + CV_\mathrm{surface}^2 + CV_\mathrm{reading}^2
"""

from __future__ import annotations

import math

from evenglide.glide.law import require

DRY_EXPONENT = 2.0


def distance_spread(
    speed_spread: float,
    *,
    surface_spread: float = 0.0,
    reading_spread: float = 0.0,
    exponent: float = DRY_EXPONENT,
) -> float:
    """Relative spread of distances on one lane.

    Parameters
    ----------
    speed_spread, surface_spread, reading_spread : float
        Relative standard deviations of launch speed, of the lane from launch to launch, and of a reading. [1]
    exponent : float
        Per cent of distance per per cent of launch speed. [1]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> distance_spread(0.02, surface_spread=0.05)
    0.0640312
    """
    return math.hypot(exponent * speed_spread, surface_spread, reading_spread)


def largest_speed_spread(distance_spread: float, *, exponent: float = DRY_EXPONENT) -> float:
    """Largest relative spread of launch speed that a spread of distances leaves room for.

    Parameters
    ----------
    distance_spread : float
        Relative standard deviation of distances from one lane. [1]
    exponent : float
        Per cent of distance per per cent of launch speed, positive. [1]

    Returns
    -------
    float
        A bound, not an estimate: all of the spread laid on the launcher. [1]

    Raises
    ------
    OutOfRangeError
        The exponent is not positive.

    Examples
    --------
    >>> largest_speed_spread(0.064)
    0.032
    """
    require(exponent > 0.0, "exponent", found=exponent, expected="a positive number")
    return distance_spread / exponent


def speed_reliability(speed_spread: float, *, meter_noise: float) -> float:
    r"""Share of the spread of measured launch speeds that is real.

    .. math:: \lambda = \frac{CV_v^2}{CV_v^2 + CV_m^2}

    A regression of log distance on log measured speed has slope :math:`n\lambda`, and leaves
    :math:`n^2 CV_v^2 (1 - \lambda) + CV_\mathrm{surface}^2`; holding the slope at n instead can do harm.

    Parameters
    ----------
    speed_spread, meter_noise : float
        Relative standard deviations, not both zero. [1]

    Returns
    -------
    float
        [1]

    Raises
    ------
    OutOfRangeError
        Both are zero.

    Examples
    --------
    >>> speed_reliability(0.01, meter_noise=0.005)
    0.8
    """
    total = speed_spread**2 + meter_noise**2
    require(total > 0.0, "speed_spread", found=speed_spread, expected="more than zero, or a noisy meter")
    return speed_spread**2 / total


def spread_left(
    speed_spread: float, *, meter_noise: float, surface_spread: float, exponent: float = DRY_EXPONENT
) -> float:
    """Relative spread of distances that a regression on measured launch speed leaves.

    Parameters
    ----------
    speed_spread, meter_noise, surface_spread : float
        Relative standard deviations. [1]
    exponent : float
        [1]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> spread_left(0.02, meter_noise=0.01, surface_spread=0.05)
    0.0531
    """
    unexplained = 1.0 - speed_reliability(speed_spread, meter_noise=meter_noise)
    return math.hypot(exponent * speed_spread * math.sqrt(unexplained), surface_spread)
