"""Records that are frozen, slotted and keyword-only, at little cost for each class.

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
from operator import attrgetter
from types import MappingProxyType
from typing import Any, Final, NoReturn, TypeVar, cast, dataclass_transform

T = TypeVar("T")

NOT_GIVEN: Final[Any] = object()
NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})
FIELDS: Final = "record_fields"
SETTERS: Final = "record_setters"
CONTENT: Final = "record_content"
"""No names with two underscores at either end: to set one makes Python work out the class anew."""
OF_THE_FIRST_CLASS: Final = frozenset({"__annotations__", "__dict__", "__weakref__"})
"""What the class without slots had for itself; annotations are handed on apart."""


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
    """The class with a slot for each annotated name, made from keywords, equal by content."""
    annotations: Mapping[str, object] = kind.__annotations__
    given = kind.__dict__
    own = {name: _as_field(name, given.get(name, NOT_GIVEN)) for name in annotations}
    inherited: dict[str, Field] = {}
    setters: dict[str, Callable[[object, object], None]] = {}
    for parent in kind.__bases__:
        if parent is not object:
            inherited |= _fields_of(parent)
            setters |= getattr(parent, SETTERS, ())
    known = inherited | own
    made = _with_slots(kind, annotations, {} if inherited else METHODS)
    slots = made.__dict__
    for name in annotations:
        setters[name] = slots[name].__set__
    setattr(made, FIELDS, MappingProxyType(known))
    setattr(made, SETTERS, tuple(setters.items()))
    setattr(made, CONTENT, attrgetter(*known) if known else staticmethod(_no_content))
    return made


def fields(kind: type[Any]) -> tuple[Field, ...]:
    """The fields of a kind of record, the inherited ones first."""
    return tuple(_fields_of(kind).values())


def is_record(value: object) -> bool:
    """Whether it is a record, or a kind of record."""
    return hasattr(value, FIELDS)


def content_of(record: Any) -> dict[str, Any]:  # noqa: ANN401 - of any record
    """What a record holds, by the names of its fields."""
    return {name: getattr(record, name) for name in record.record_fields}


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


def _with_slots(
    kind: type[T], annotations: Mapping[str, object], methods: Mapping[str, Any]
) -> type[T]:
    """The class once more: slots are given when a class is made, and never after."""
    namespace = {
        name: value
        for name, value in kind.__dict__.items()
        if name not in annotations and name not in OF_THE_FIRST_CLASS
    }
    own = {"__slots__": tuple(annotations), "__annotations__": annotations}
    qualified = {"__qualname__": kind.__qualname__}
    make = cast("Any", type(kind))
    made: type[T] = make(
        kind.__name__, kind.__bases__, {**methods, **namespace, **own, **qualified}
    )
    return made


def _no_content(_record: object) -> tuple[()]:
    return ()


def _init(self: Any, **given: object) -> None:  # noqa: ANN401
    whole = given if len(given) == len(self.record_setters) else _completed(self, given)
    try:
        for name, put in self.record_setters:
            put(self, whole[name])
    except KeyError:  # as many names as there are fields, but others: refused by `_completed`
        _init(self, **_completed(self, given))


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
    return self.record_content(self) == self.record_content(other)


def _hash(self: Any) -> int:  # noqa: ANN401
    return hash(self.record_content(self))


def _repr(self: Any) -> str:  # noqa: ANN401
    shown = ", ".join(
        f"{one.name}={getattr(self, one.name)!r}"
        for one in self.record_fields.values()
        if one.is_shown
    )
    return f"{type(self).__qualname__}({shown})"


def _refuse(self: object, name: str, *_: object) -> NoReturn:
    raise AttributeError(f"{type(self).__qualname__} is frozen, {name} with it")


def _reduce(self: Any) -> tuple[Callable[..., object], tuple[object, ...]]:  # noqa: ANN401
    """For `copy` and `pickle`, which would set what is frozen."""
    return _again, (self.__class__, content_of(self))


def _again(kind: Callable[..., object], content: Mapping[str, Any]) -> object:
    return kind(**content)


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
    "__reduce__": _reduce,
    "__match_args__": (),
    "__dataclass_fields__": _StandardFields(),
}
