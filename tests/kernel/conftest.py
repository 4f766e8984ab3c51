"""System calls that a test answers itself, for one module and nobody else."""

from collections.abc import Callable
from types import ModuleType

import pytest

from closeout.kernel import crew

Pretend = Callable[..., None]


class Pretended:
    """A module with some of its functions replaced."""

    def __init__(self, real: ModuleType, replaced: dict[str, object]) -> None:
        self._real = real
        self._replaced = replaced

    def __getattr__(self, name: str) -> object:
        """The replacement, or the real thing."""
        return self._replaced.get(name, getattr(self._real, name))


@pytest.fixture
def pretend(monkeypatch: pytest.MonkeyPatch) -> Pretend:
    """`pretend(module, "os", read=...)`: what `module.os.read` is, seen from that module."""

    def replace(module: ModuleType, imported: str, **functions: object) -> None:
        real = getattr(module, imported)
        monkeypatch.setattr(module, imported, Pretended(real, functions))

    return replace


@pytest.fixture
def lone(pretend: Pretend) -> None:
    """As if no thread ran: the test runner may have its own, which does nothing here."""
    pretend(crew, "threading", active_count=lambda: 1)
