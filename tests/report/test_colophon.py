"""The colophon: nothing but programs, versions and verdicts can be said by it."""

import pytest

from closeout.model.verdict import Verdict
from closeout.report.colophon import Colophon, JudgedAgain, load_colophon, render_colophon
from closeout.report.failure import ReportError


@pytest.mark.parametrize("judged", [None, JudgedAgain(verdict=Verdict.HOLD, is_same=False)])
def test_it_comes_back(judged: JudgedAgain | None) -> None:
    colophon = Colophon(agent="closeout 0.1.0", typesetter="typst 0.15.2", judged=judged)
    assert load_colophon(render_colophon(colophon)) == colophon


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b"closeout 0.1.0", b"release: all is well", "agent: a program with its version"),
        (b"closeout 0.1.0", b"closeout 0.1.0 says release", "agent: a program"),
        (b"typst 0.15.2", b"typst", "typesetter: a program"),
        (b'"hold"', b'"good"', "judged_again.verdict: one of"),
        (b"true", b'"no"', "judged_again.is_same: true or false"),
        (b'"colophon": 1', b'"colophon": 2', "colophon: only format 1 is known"),
        (b"{", b"[", "not JSON|JSON"),
    ],
)
def test_what_says_more_is_refused(old: bytes, new: bytes, said: str) -> None:
    judged = JudgedAgain(verdict=Verdict.HOLD, is_same=True)
    raw = render_colophon(
        Colophon(agent="closeout 0.1.0", typesetter="typst 0.15.2", judged=judged)
    )
    assert old in raw
    with pytest.raises(ReportError, match=said):
        load_colophon(raw.replace(old, new, 1))
