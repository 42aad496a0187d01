"""What an answer waits for: launches that were made and not read yet."""

from __future__ import annotations

import pytest

from evenglide.answer.looking import check_time, waiting_launches
from evenglide.errors import StudyError
from evenglide.fieldlog.bodies import AtLeast, Elsewhere, PegLost, Read, Skipped, Stopped
from evenglide.fieldlog.fold import replay
from tests.answer.test_looks import BIG, PLAN, TEXT
from tests.fieldlog.made_up import STUDY_TEXT, log_of, study


def test_what_was_launched_is_waited_for_until_it_is_read_or_lost() -> None:
    """Pegs are read after the launches: an answer that comes before them does not come at the end."""
    latest = {one.number for one in PLAN.launches if one.set_up == PLAN.launches[-1].set_up}
    unread = [body for body in BIG if not (isinstance(body, Read) and body.launch in {20, *latest})]
    state = replay(log_of(PLAN, unread, text=STUDY_TEXT))
    assert waiting_launches(PLAN, state) == latest, "the rig was moved since launch 20"
    with pytest.raises(StudyError, match=f"{120 - len(latest)} of 120 planned launches made and read"):
        check_time(study(STUDY_TEXT), PLAN, state)
    read_in_any_order = [*unread, Read(launch=max(latest), text="5.0", value=5.0)]
    assert waiting_launches(PLAN, replay(log_of(PLAN, read_in_any_order, text=TEXT))) == latest - {
        max(latest)
    }
    lost = [*unread, *(PegLost(launch=number) for number in latest)]
    assert waiting_launches(PLAN, replay(log_of(PLAN, lost, text=TEXT))) == frozenset()


@pytest.mark.parametrize("how", [AtLeast, Stopped])
def test_a_launch_that_left_the_lane_or_stopped_is_waited_for_until_it_is_read(
    how: type[AtLeast] | type[Stopped],
) -> None:
    """A phone says how it ended first; the peg is read on the next walk."""
    last = PLAN.launches[-1].number
    unread = [body for body in BIG if not (isinstance(body, Read) and body.launch == last)]
    told = [*unread, how(launch=last)]
    assert waiting_launches(PLAN, replay(log_of(PLAN, told, text=TEXT))) == {last}
    for end in (
        Read(launch=last, text="5", value=5.0),
        PegLost(launch=last),
        AtLeast(launch=last, value=9.0),
    ):
        assert waiting_launches(PLAN, replay(log_of(PLAN, [*told, end], text=TEXT))) == frozenset()


def test_what_is_recorded_elsewhere_is_waited_for_until_it_comes_or_is_left_out() -> None:
    """A phone that was told so goes on beyond it; on its own, that would read as left out."""
    paper = {9, 10}
    here = [body for body in BIG if getattr(body, "launch", None) not in paper]
    assert waiting_launches(PLAN, replay(log_of(PLAN, here, text=TEXT))) == frozenset()
    told = [*here, Elsewhere(launches=sorted(paper), how="paper")]
    state = replay(log_of(PLAN, told, text=STUDY_TEXT))
    assert waiting_launches(PLAN, state) == paper
    with pytest.raises(StudyError, match="118 of 120 planned launches made and read"):
        check_time(study(STUDY_TEXT), PLAN, state)
    typed = [*told, *(Read(launch=number, text="5.0", value=5.0) for number in paper)]
    assert waiting_launches(PLAN, replay(log_of(PLAN, typed, text=TEXT))) == frozenset()
    stopped = [*told, Read(launch=9, text="5.0", value=5.0), Stopped(launch=10)]
    assert waiting_launches(PLAN, replay(log_of(PLAN, stopped, text=TEXT))) == frozenset(), "as if made here"
    cut = [*told, Skipped(launches=sorted(paper))]
    assert waiting_launches(PLAN, replay(log_of(PLAN, cut, text=TEXT))) == frozenset()
