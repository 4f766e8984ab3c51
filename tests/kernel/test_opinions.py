"""What the library says, and that its absence is said too."""

import errno
import json
import socket
import sys
from types import ModuleType, SimpleNamespace

import pytest

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.opinions import QUESTIONS, second_opinion


def pretend(monkeypatch: pytest.MonkeyPatch, **functions: object) -> None:
    library = ModuleType("psutil")
    for name, function in functions.items():
        setattr(library, name, function)
    monkeypatch.setitem(sys.modules, "psutil", library)


def failure_of(question: str) -> ReadError:
    with pytest.raises(ReadError) as caught:
        second_opinion(question)
    return caught.value


@pytest.mark.live
@pytest.mark.parametrize("question", sorted(QUESTIONS))
def test_the_library_at_hand_answers_with_json(question: str) -> None:
    answer = json.loads(second_opinion(question))
    assert answer is None or isinstance(answer, dict)


def test_no_battery_is_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch, sensors_battery=lambda: None)
    assert second_opinion("psutil sensors_battery") == b"null"


def test_a_battery_is_told_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    battery = SimpleNamespace(_asdict=lambda: {"percent": 81.5, "power_plugged": True})
    pretend(monkeypatch, sensors_battery=lambda: battery)
    assert second_opinion("psutil sensors_battery") == b'{"percent": 81.5, "power_plugged": true}'


def test_only_hardware_addresses_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    addresses = [
        SimpleNamespace(family=socket.AF_PACKET, address="02:00:00:00:00:01"),
        SimpleNamespace(family=socket.AF_INET, address="192.0.2.7"),
    ]
    pretend(monkeypatch, net_if_addrs=lambda: {"wlan0": addresses})
    assert second_opinion("psutil net_if_addrs") == b'{"wlan0": ["02:00:00:00:00:01"]}'


def test_an_absent_library_is_not_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "psutil", None)
    assert failure_of("psutil virtual_memory").reason is Reason.NOT_OFFERED


def test_an_old_library_is_not_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch)
    assert failure_of("psutil virtual_memory").reason is Reason.NOT_OFFERED


def test_the_kernels_failure_stays_the_kernels(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse() -> None:
        raise PermissionError(errno.EACCES, "no")

    pretend(monkeypatch, sensors_battery=refuse)
    assert failure_of("psutil sensors_battery").code == "EACCES"


def test_any_other_question_is_not_offered() -> None:
    assert failure_of("psutil users").reason is Reason.NOT_OFFERED
