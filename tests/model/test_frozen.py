"""Records: frozen, keyword-only, equal by content, and known to the standard library."""

import copy
import dataclasses
import pickle
from typing import Generic, TypeVar

import pytest

from closeout.model.battery import Battery
from closeout.model.frozen import content_of, field, fields, frozen, is_record, replace

T = TypeVar("T")


@frozen
class Part:
    """A record with defaults."""

    name: str
    pins: int = 2
    notes: list[str] = field(default_factory=list[str])
    hidden: str = field(default="", repr=False)


@frozen
class Plug(Part):
    """A record that has more."""

    colour: str

    @property
    def title(self) -> str:
        """Both together."""
        return f"{self.colour} {self.name}"


@frozen
class Secret:
    """A record that shows itself in its own way."""

    key: str

    def __repr__(self) -> str:
        return "Secret"


@frozen
class Nothing:
    """A record without fields."""


@frozen
class Box(Generic[T]):
    """A record of anything."""

    content: T


def test_it_is_made_from_keywords_and_knows_its_defaults() -> None:
    part = Part(name="lid")
    assert (part.name, part.pins, part.notes, part.hidden) == ("lid", 2, [], "")
    assert part.notes is not Part(name="lid").notes
    assert Plug(name="plug", colour="red", pins=3).title == "red plug"


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ({}, "Part needs 'name'"),
        ({"name": "a", "nme": "b"}, "Part has no field 'nme'"),
        ({"nme": "a", "pins": 1, "notes": [], "hidden": ""}, "Part has no field 'nme'"),
    ],
)
def test_wrong_keywords_are_named(given: dict[str, object], wrong: str) -> None:
    with pytest.raises(TypeError, match=wrong):
        Part(**given)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Part("lid")  # type: ignore[misc]


def test_nothing_in_it_can_be_changed_or_added() -> None:
    part = Part(name="lid")
    for name in ("name", "new"):
        with pytest.raises(AttributeError, match=f"Part is frozen, {name} with it"):
            setattr(part, name, "x")
        with pytest.raises(AttributeError):
            delattr(part, name)
    assert vars(part) == {"name": "lid", "pins": 2, "notes": [], "hidden": ""}


def test_it_is_equal_by_kind_and_content() -> None:
    assert Box(content=1) == Box(content=1) != Box(content=2)
    assert Box(content=1) != Part(name="1")
    assert Nothing() == Nothing()
    assert len({Box(content="a"), Box(content="a"), Box(content="b"), Nothing(), Nothing()}) == 3
    assert Part(name="a") != Plug(name="a", colour="b")
    assert Part(name="a") != "a"


def test_its_text_leaves_secrets_out() -> None:
    assert repr(Part(name="lid", hidden="key")) == "Part(name='lid', pins=2, notes=[])"
    assert repr(Nothing()) == "Nothing()"


def test_a_changed_copy_and_its_content() -> None:
    plug = Plug(name="plug", colour="red")
    assert replace(plug, pins=3) == Plug(name="plug", colour="red", pins=3)
    assert content_of(plug)["colour"] == "red"
    assert [one.name for one in fields(Plug)] == ["name", "pins", "notes", "hidden", "colour"]
    with pytest.raises(TypeError, match="Plug has no field 'size'"):
        replace(plug, size=3)


@pytest.mark.parametrize("record", [Plug(name="plug", colour="red"), Nothing()])
def test_it_can_be_copied_and_pickled(record: object) -> None:
    assert copy.copy(record) == copy.deepcopy(record) == record
    assert pickle.loads(pickle.dumps(record)) == record  # noqa: S301 - our own


def test_the_standard_library_takes_it_for_one_of_its_own() -> None:
    plug = Plug(name="plug", colour="red")
    assert dataclasses.is_dataclass(Plug)
    assert dataclasses.replace(plug, pins=3) == replace(plug, pins=3)
    assert [one.name for one in dataclasses.fields(plug)] == [one.name for one in fields(Plug)]
    assert dataclasses.asdict(plug)["notes"] == []
    metadata = {one.name: one.metadata for one in dataclasses.fields(Battery)}
    assert metadata["serial"]["attribute"].personal
    assert is_record(plug)
    assert not is_record("plug")


def test_records_without_fields_are_all_the_same() -> None:
    @frozen
    class Nothing:
        """Holds nothing."""

    assert Nothing() == Nothing()
    assert len({Nothing(), Nothing()}) == 1


def test_what_it_says_for_itself_stands() -> None:
    assert repr(Secret(key="a")) == "Secret"
    assert Secret(key="a") == Secret(key="a") != Secret(key="b")
