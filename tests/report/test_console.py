"""The terminal: words first, nothing cut at any width, and no colour needed."""

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.cli.terminal import Terminal
from closeout.model.expectation import Weight
from closeout.model.inventory import Inventory
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.console import render_console, render_inventory, render_quiet
from closeout.report.foreign import fit_encoding, make_safe
from closeout.report.story import is_answered_yes
from strategies.reports import reports
from strategies.sample_report import sample_report

PATH = "closeout-reports/WO-20417/attempt-0002-3fa2c1d9/report.html"


def shown(
    render: Callable[[Terminal], None],
    width: int = 80,
    encoding: str = "utf-8",
    *,
    colour: bool = False,
) -> str:
    """What a terminal of this width and encoding gets."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True)
    render(
        Terminal(
            stream,
            width=width,
            force_terminal=colour,
            color_system="truecolor" if colour else None,
        )
    )
    written = stream.buffer
    assert isinstance(written, io.BytesIO)
    return written.getvalue().decode(encoding)


def report_on(report: Report, *sizes: object, colour: bool = False) -> str:
    return shown(lambda console: render_console(report, console, (PATH,)), *sizes, colour=colour)


def inventory_on(inventory: Inventory, *sizes: object) -> str:
    return shown(lambda console: render_inventory(inventory, console), *sizes)


@pytest.mark.parametrize(("width", "encoding"), [(80, "utf-8"), (40, "utf-8"), (80, "ascii")])
def test_it_is_as_it_was(width: int, encoding: str, is_golden: Callable[[str, str], None]) -> None:
    is_golden(f"console-{width}-{encoding}.txt", report_on(sample_report(), width, encoding))


def test_a_hold_begins_with_three_reasons_and_lists_the_rest_below() -> None:
    report = replace(sample_report(), reasons=("one", "two", "three", "four", "five"))
    text = report_on(report)
    assert "- three\nand 2 more, listed below" in text
    assert "- four" not in text
    released = report_on(replace(report, verdict=Verdict.RELEASE))
    assert "- five" in released


def test_a_caution_is_given_once_and_pointed_at_after() -> None:
    report = sample_report()
    step = report.first_steps[1]
    twice = replace(report, first_steps=(step, replace(step, title="The same again")))
    text = report_on(twice)
    assert text.count("Take the pack off the board") == 1
    assert "Caution: as for 1." in text


def test_the_inventory_is_as_it_was(is_golden: Callable[[str, str], None]) -> None:
    is_golden("inventory-80.txt", inventory_on(sample_report().inventory))


@pytest.mark.parametrize("verdict", Verdict)
def test_the_first_word_is_the_verdict(verdict: Verdict) -> None:
    report = replace(sample_report(), verdict=verdict, findings=())
    symbol, word = report_on(report).split()[:2]
    assert symbol in "✓✗?"
    assert word == verdict.value.upper()
    assert report_on(report, 80, "latin-1").split()[0].strip("?") in {verdict.value.upper(), ""}


def test_musts_come_first() -> None:
    shuffled = replace(sample_report(), findings=tuple(reversed(sample_report().findings)))
    told = report_on(shuffled)
    weights = re.findall(r"\((must|should|note)\)", told)
    assert weights == sorted(weights, key=["must", "should", "note"].index)


def test_it_says_the_same_without_colour() -> None:
    coloured = report_on(sample_report(), colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == report_on(sample_report())


def test_quiet_is_one_line() -> None:
    line = shown(lambda console: render_quiet(sample_report(), console, (PATH,)), 20)
    assert line == (
        "HOLD; order WO-20417 attempt 2 revision 2; System serial number (system): "
        "expected LQ7K20418, "
        f"found filler 'Default string'; {PATH}\n"
    )


def test_quiet_without_an_order_or_a_reason() -> None:
    plain = sample_report()
    bare = replace(
        plain, reasons=(), circumstances=replace(plain.circumstances, order="", attempt=1)
    )
    line = shown(lambda console: render_quiet(bare, console))
    assert line == "HOLD; order none attempt 1 revision 2\n"


def test_a_serial_that_fits_a_line_is_not_broken() -> None:
    assert "4c4c4544-0031-3010-8035-b7c04f4e3032\n" in report_on(sample_report(), 40)


def test_no_line_is_longer_than_the_terminal_but_paths() -> None:
    for width in (20, 40, 80):
        lines = report_on(sample_report(), width).splitlines()
        assert [line for line in lines if len(line) > width] in ([PATH], [])


def squeezed(text: str) -> str:
    return "".join(text.split())


def texts_of(report: Report) -> Iterator[str]:
    yield from report.reasons if report.verdict is Verdict.RELEASE else report.reasons[:3]
    yield from (f"{step.title}. {step.action}" for step in report.first_steps)
    for finding in report.findings:
        is_listed = finding.outcome.value != "pass" and finding.weight is not Weight.NOTE
        if is_listed and not is_answered_yes(finding):
            yield f"expected {finding.expected}, found {finding.found}"


@settings(max_examples=40, deadline=None)
@given(reports, st.sampled_from([1, 12, 40, 80]), st.sampled_from(["utf-8", "ascii", "latin-1"]))
def test_nothing_is_cut_at_any_width(report: Report, width: int, encoding: str) -> None:
    told = squeezed(report_on(report, width, encoding))
    for text in texts_of(report):
        assert squeezed(fit_encoding(make_safe(text), encoding)) in told


@settings(max_examples=40, deadline=None)
@given(reports, st.sampled_from([1, 40]))
def test_every_device_is_listed_at_any_width(report: Report, width: int) -> None:
    told = squeezed(inventory_on(report.inventory, width))
    for section in report.inventory.sections:
        for device in section.devices:
            named = f"{device.label} ({device.position.value}, {device.place})"
            assert squeezed(make_safe(named)) in told
