"""Sentences of the plan of work."""

from __future__ import annotations

import pytest
from heatbrief.estimate.plan_of_work import plan_of_work, steps
from heatbrief.model.action import Action
from heatbrief.model.finding import Finding


@pytest.mark.parametrize(
    ("numbers", "words"), [([3], "step 3"), ([4, 3], "steps 3 and 4"), ([7, 3, 4, 3], "steps 3, 4 and 7")]
)
def test_lines_are_named_in_order(numbers, words):
    assert steps(numbers) == words


def test_a_step_says_after_which_lines_it_comes():
    actions = {
        key: Action(key, key, "contractor", "does it", after=after)
        for key, after in {"a.look": (), "a.seal": (), "a.insulate": ("a.seal", "a.look")}.items()
    }
    finding = Finding("f", "a", "a.c", "t", "r", "title", "summary", "defect", "soon", 0.9, actions=tuple(actions))
    *_, last = plan_of_work([finding], [], actions)
    assert last.reason == "urgency of its findings: soon; after steps 1 and 2"
