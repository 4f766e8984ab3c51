"""What holds for every test: nothing outside is reached, and a skip says why."""

import os
import sys
from collections.abc import Generator, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TypeVar

import psutil  # noqa: F401 - reads /proc when first imported, so before any test is enclosed
import pytest
from hypothesis import HealthCheck, Phase, settings

from enclosure import ENCLOSURE
from open_data import open_data_folder, reason_to_skip

settings.register_profile(
    "ci", max_examples=100, deadline=None, derandomize=True, database=None, print_blob=True
)
settings.register_profile(
    "few",
    settings.get_profile("ci"),
    max_examples=10,
    suppress_health_check=[HealthCheck.filter_too_much],
)
"""Where the same tests run once more, under coverage or on another Python."""
settings.register_profile("long", max_examples=5000, deadline=None, print_blob=True)
settings.register_profile(
    "red", settings.get_profile("ci"), phases=(Phase.explicit, Phase.generate)
)
"""A failure is wanted and its smallest example is not: for `make rescues`."""
settings.load_profile("ci")

NO_SKIPS = os.environ.get("CLOSEOUT_NO_SKIPS", "") not in {"", "0"}

AnyReport = TypeVar("AnyReport", pytest.TestReport, pytest.CollectReport)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Encloses the test with its fixtures, unless it is marked `live`."""
    enclosed = nullcontext() if item.get_closest_marker("live") else ENCLOSURE.closed()
    measured = _unmeasured() if item.get_closest_marker("unmeasured") else nullcontext()
    with enclosed, measured:
        return (yield)


@contextmanager
def _unmeasured() -> Iterator[None]:
    """Coverage measures nothing in this process until the block ends.

    Not by its own `stop` and `start`: each start patches `fork` and `_exit` once more, and after
    some hundred of them a child takes seconds to end.
    """
    tracer = sys.gettrace()
    sys.settrace(None)
    try:
        yield
    finally:
        sys.settrace(tracer)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """A skipped test fails where CLOSEOUT_NO_SKIPS is set."""
    return _without_skip((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A module skipped whole fails where CLOSEOUT_NO_SKIPS is set."""
    return _without_skip((yield))


def _without_skip(report: AnyReport) -> AnyReport:
    if NO_SKIPS and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"nothing may skip here (CLOSEOUT_NO_SKIPS is set): {reason}"
    return report


@pytest.fixture(scope="session")
def test_data() -> Path:
    """The folder of open data; skips, and says why, where it is absent."""
    if reason := reason_to_skip():
        pytest.skip(reason)
    return open_data_folder()
