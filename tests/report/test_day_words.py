"""A day outside in words, as the laptop tells it."""

from __future__ import annotations

from dataclasses import replace

from evenglide.fieldlog.day import day_of
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.pace import Measured, Pace
from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.report.day_words import drift_words, pace_words, scatter_words, unread_words
from tests.fieldlog.made_up import schedule, study


def test_scatter_and_drift_in_the_words_of_the_scale() -> None:
    assert scatter_words(0.0, scale="ratio", unit="m") == "0.0\u00a0%"
    assert scatter_words(0.3, scale="ratio", unit="m") == "30.7\u00a0%", "sqrt(exp(0.09) - 1) is 0.3069"
    assert scatter_words(0.0512, scale="difference", unit="m") == "0.0512\u00a0m"
    assert drift_words(-0.1, scale="ratio", unit="m") == "\u22129.5\u00a0%", "exp(-0.1) is 0.9048"
    assert drift_words(0.1, scale="difference", unit=None) == "+0.1"
    assert scatter_words(None, scale="ratio", unit="m") == drift_words(None, scale="ratio", unit="m")


def test_what_is_unread_is_told_by_number() -> None:
    plan = phone_plan(study(), schedule(), fingerprint="")
    day = day_of(plan, replay([]))
    assert unread_words(day) == "Everything that was launched is read."
    assert unread_words(replace(day, unread=(7,))) == "Launch 7."
    assert unread_words(replace(day, unread=(7, 9, 12))) == "Launches 7, 9 and 12."


def test_the_longest_work_alone_is_told_of_making_gear_ready() -> None:
    """A time for each treatment would tell which is which."""
    times = {"bare": Measured(seconds=300.0, count=4), "rub": Measured(seconds=1080.0, count=4)}
    pace = Pace(launch={"pan": Measured(seconds=120.0, count=9)}, set_up=None, hands_on=times, waiting=times)
    assert list(pace_words(pace)) == [
        "pan: 2\u00a0min from launch to launch (9\u00a0times)",
        "Making a piece of gear ready: up to 18\u00a0min of work",
    ]
    assert list(pace_words(Pace(launch={}, set_up=None, hands_on={}, waiting={}))) == []
