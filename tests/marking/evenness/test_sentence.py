"""The sentence that every command says of evenness."""

from __future__ import annotations

from preprocess.marking.evenness.objective import EvennessFigures, Objective
from preprocess.marking.evenness.sentence import objective_sentence


def objective(hot, cold, beyond, time, outside=None):
    figures = EvennessFigures(hot=hot, cold=cold, beyond=beyond, seam=0.0, outside=outside)
    return Objective(likely=figures, worst=figures, time=time, layers=4)


def test_before_and_after():
    was, now = objective(1.31, 0.74, 0.15, 8.52), objective(1.03, 0.95, 0.0, 8.27, outside=0.0)
    assert objective_sentence(now, (0.67, 0.64, 0.63, 0.61), before=was) == (
        "worst place +31 % → +3 %, coldest −26 % → −5 %, nothing outside the window, "
        "8.5 → 8.3 s, 4 colours: 67, 64, 63, 61 %"
    )


def test_one_job_by_itself():
    assert objective_sentence(objective(1.004, 0.74, 0.153, 61.0)) == (
        "worst place ± 0 %, coldest −26 %, 15 % of the area beyond ± 10 %, 61 s"
    )


def test_a_small_share_is_named():
    assert "0.7 % of the area outside the window" in objective_sentence(
        objective(1.1, 0.9, 0.0, 60.0, outside=0.007)
    )
