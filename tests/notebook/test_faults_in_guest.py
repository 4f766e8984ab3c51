"""Two cases of the fault matrix through to their end: what is planted is named, and nothing else.

The whole is `make matrix`, those that stand for all `make matrix-few`.
"""

import pytest

from notebook.image import Image
from notebook.matrix.case import Case
from notebook.matrix.outcome import judge_run
from notebook.matrix.running import run_case
from notebook.matrix.whole import Choice, choose

pytestmark = [pytest.mark.notebook, pytest.mark.xdist_group("faults")]

PAIR = "osier-15/fan-stopped+camera-left-out"
HEALTHY = "osier-15/pack-low"


def test_two_faults_are_named_and_a_healthy_variation_is_released(image: Image) -> None:
    healthy = run_case(Case(notebook="osier-15"), image)
    for case in choose(Choice(names=(PAIR, HEALTHY))):
        outcome = judge_run(case, run_case(case, image), healthy)
        assert outcome.troubles == ()
        assert [named.right for named in outcome.compared.named] == [True] * len(case.faults)
