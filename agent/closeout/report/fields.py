"""A JSON object read field by field, with the place in every complaint."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from enum import Enum
from typing import TypeVar, cast

from closeout.model.frozen import frozen
from closeout.report.failure import ReportError

E = TypeVar("E", bound=Enum)
T = TypeVar("T")


@frozen
class Fields:
    """The object at `place`. What is in it and is not asked for is left alone."""

    place: str
    content: dict[str, object]

    def text(self, name: str, default: str | None = None) -> str:
        """A text; `default` where the field is missing, if there is one."""
        found = self._get(name, default)
        if not isinstance(found, str):
            raise self.complaint(name, "a text was expected")
        return found

    def integer(self, name: str, default: int | None = None) -> int:
        """A whole number; true and false are none. `default` where the field is missing."""
        found = self._get(name, default)
        if not isinstance(found, int) or isinstance(found, bool):
            raise self.complaint(name, "a whole number was expected")
        return found

    def flag(self, name: str, *, default: bool | None = None) -> bool:
        """True or false; `default` where the field is missing, if there is one."""
        found = self._get(name, default)
        if not isinstance(found, bool):
            raise self.complaint(name, "true or false was expected")
        return found

    def choice(self, name: str, words: type[E]) -> E:
        """One word of an enumeration."""
        found = self.text(name)
        for member in words:
            if member.value == found:
                return member
        allowed = ", ".join(str(member.value) for member in words)
        raise self.complaint(name, f"one of {allowed} was expected")

    def texts(self, name: str, default: list[object] | None = None) -> tuple[str, ...]:
        """A list of texts; `default` where the field is missing, if there is one."""
        found = self._list(name, default)
        if not all(isinstance(part, str) for part in found):
            raise self.complaint(name, "a list of texts was expected")
        return tuple(cast("list[str]", found))

    def fields(self, name: str) -> Fields:
        """An object."""
        return as_fields(self._get(name), self._place(name))

    def optional(self, name: str, load: Callable[[Fields], T]) -> T | None:
        """What `load` makes of the object; None where it is null or missing."""
        return None if self.content.get(name) is None else load(self.fields(name))

    def each(self, name: str, default: list[object] | None = None) -> Iterator[Fields]:
        """The objects of a list; `default` where the field is missing, if there is one."""
        for index, part in enumerate(self._list(name, default)):
            yield as_fields(part, f"{self._place(name)}[{index}]")

    def complaint(self, name: str, message: str) -> ReportError:
        """The error about one field."""
        return ReportError(self._place(name), message)

    def _get(self, name: str, default: object = None) -> object:
        if name in self.content:
            return self.content[name]
        if default is None:
            raise self.complaint(name, "is missing")
        return default

    def _list(self, name: str, default: list[object] | None = None) -> list[object]:
        found = self._get(name, default)
        if not isinstance(found, list):
            raise self.complaint(name, "a list was expected")
        return cast("list[object]", found)

    def _place(self, name: str) -> str:
        return f"{self.place}.{name}" if self.place else name


def as_fields(value: object, place: str) -> Fields:
    """The value as an object; ReportError where it is none."""
    if not isinstance(value, dict):
        raise ReportError(place, "an object was expected")
    return Fields(place=place, content=cast("dict[str, object]", value))
