"""Constants that several rooms share."""

from __future__ import annotations

VERSION = "0.1.0"
"""Version of this package; the build reads it from here."""

EXACT_INTEGER_LIMIT = 2**53
"""Whole numbers beyond this do not survive a reader that holds every number as a double."""

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall, exact by convention (3rd CGPM, 1901). [m/s²]"""
