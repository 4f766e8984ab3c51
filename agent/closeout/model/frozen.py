"""Records that are frozen and keyword-only, at little cost for each class.

`dataclasses` of the standard library writes source text for each class and compiles it, which
takes half a millisecond, and a check has some hundreds of classes; the module alone loads `inspect`
and so takes as long as half an interpreter. Here the methods are the same for every class, and go
by what `frozen` left on it:

    @frozen
    class Battery(Device):
        present: Reading[bool] = field(metadata=about("a pack is in this bay", Shape.FLAG))

To its users such a record is one of the standard library's: `replace` and `fields` of that take it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, NoReturn, TypeVar, dataclass_transform

T = TypeVar("T")

NOT_GIVEN: Final[Any] = object()
NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})
FIELDS: Final = "record_fields"
NAMES: Final = "record_names"


class Field:
    """What is known of one field of a record."""

    __slots__ = ("default", "default_factory", "is_shown", "metadata", "name")

    def __init__(
        self,
        default: Any = NOT_GIVEN,  # noqa: ANN401 - of any field
        default_factory: Callable[[], Any] | None = None,
        metadata: Mapping[str, Any] = NOTHING,
        *,
        is_shown: bool = True,
    ) -> None:
        self.name = ""
        self.default = default
        self.default_factory = default_factory
        self.metadata = metadata
        self.is_shown = is_shown

    @property
    def is_required(self) -> bool:
        """Whoever makes the record has to give it."""
        return self.default is NOT_GIVEN and self.default_factory is None

    def make(self) -> object:
        """What the field holds where nothing was given for it."""
        return self.default if self.default_factory is None else self.default_factory()


def field(
    *,
    default: Any = NOT_GIVEN,  # noqa: ANN401 - of any field
    default_factory: Callable[[], Any] | None = None,
    metadata: Mapping[str, Any] = NOTHING,
    repr: bool = True,  # noqa: A002 - as the type checkers know it of the standard library
) -> Any:  # noqa: ANN401 - the type checkers know it by the annotation
    """Says more of a field than its type, behind the `=` in the class.

    With `repr=False` it holds a secret, which the text of the record leaves out.
    """
    return Field(default, default_factory, metadata, is_shown=repr)


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(field,))
def frozen(kind: type[T]) -> type[T]:
    """The class with a field for each annotated name, made from keywords, equal by content."""
    own = kind.__dict__
    known: dict[str, Field] = {}
    for parent in kind.__bases__:
        known |= _fields_of(parent)
    if not known:
        for name, method in METHODS.items():
            if name not in own:
                setattr(kind, name, method)
    for name in kind.__annotations__:
        known[name] = _as_field(name, own.get(name, NOT_GIVEN))
        if name in own:
            delattr(kind, name)
    setattr(kind, FIELDS, MappingProxyType(known))
    setattr(kind, NAMES, known.keys())
    return kind


def fields(kind: type[Any]) -> tuple[Field, ...]:
    """The fields of a kind of record, the inherited ones first."""
    return tuple(_fields_of(kind).values())


def is_record(value: object) -> bool:
    """Whether it is a record, or a kind of record."""
    return hasattr(value, FIELDS)


def content_of(record: Any) -> dict[str, Any]:  # noqa: ANN401 - of any record
    """What a record holds, by the names of its fields."""
    held = record.__dict__
    return {name: held[name] for name in record.record_fields}


def replace(record: T, **changes: Any) -> T:  # noqa: ANN401 - of any field
    """A new record like this one, but for the changes."""
    kind: Callable[..., T] = type(record)
    return kind(**(content_of(record) | changes))


def _fields_of(kind: type[Any]) -> Mapping[str, Field]:
    return getattr(kind, FIELDS, NOTHING)


def _as_field(name: str, given: object) -> Field:
    known = given if isinstance(given, Field) else Field(default=given)
    known.name = name
    return known


def _init(self: Any, **given: object) -> None:  # noqa: ANN401
    whole = given if given.keys() == self.record_names else _completed(self, given)
    object.__setattr__(self, "__dict__", whole)


def _completed(record: Any, given: dict[str, object]) -> dict[str, object]:  # noqa: ANN401
    """What was given, with the defaults of what was not; TypeError where that is no record."""
    known: Mapping[str, Field] = record.record_fields
    name = type(record).__qualname__
    if unknown := [repr(key) for key in given if key not in known]:
        raise TypeError(f"{name} has no field {', '.join(unknown)}")
    missing = {key: known[key] for key in known if key not in given}
    if wanted := [repr(key) for key in missing if missing[key].is_required]:
        raise TypeError(f"{name} needs {', '.join(wanted)}")
    return {**given, **{key: one.make() for key, one in missing.items()}}


def _eq(self: Any, other: Any) -> Any:  # noqa: ANN401
    if type(self) is not type(other):
        return NotImplemented
    return self.__dict__ == other.__dict__


def _hash(self: Any) -> int:  # noqa: ANN401
    return hash(tuple(content_of(self).values()))


def _repr(self: Any) -> str:  # noqa: ANN401
    shown = ", ".join(
        f"{one.name}={getattr(self, one.name)!r}"
        for one in self.record_fields.values()
        if one.is_shown
    )
    return f"{type(self).__qualname__}({shown})"


def _refuse(self: object, name: str, *_: object) -> NoReturn:
    raise AttributeError(f"{type(self).__qualname__} is frozen, {name} with it")


class _StandardFields:
    """The fields as the standard library's `replace`, `fields` and `is_dataclass` look for them.

    Made when they are asked for, which no check does.
    """

    def __get__(self, _record: object, kind: type[Any]) -> Mapping[str, object]:
        if kind not in _MADE:
            _MADE[kind] = _standard_fields(kind)
        return _MADE[kind]


_MADE: Final[dict[type[Any], Mapping[str, object]]] = {}


def _standard_fields(kind: type[Any]) -> Mapping[str, object]:
    import dataclasses  # noqa: PLC0415 - what this module is there to do without

    content: list[tuple[str, Any, Any]] = []
    for one in fields(kind):
        extra: dict[str, Any] = {"metadata": one.metadata}
        if one.default_factory is not None:
            extra["default_factory"] = one.default_factory
        elif not one.is_required:
            extra["default"] = one.default
        content.append((one.name, object, dataclasses.field(**extra)))
    like: Any = dataclasses.make_dataclass(kind.__name__, content, kw_only=True)
    made: Mapping[str, object] = like.__dataclass_fields__
    return made


METHODS: Final[Mapping[str, Any]] = {
    "__init__": _init,
    "__eq__": _eq,
    "__hash__": _hash,
    "__repr__": _repr,
    "__setattr__": _refuse,
    "__delattr__": _refuse,
    "__dataclass_fields__": _StandardFields(),
}
