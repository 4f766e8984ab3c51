"""Profiles and work orders as tables of values, and their text as TOML."""

import json
import string
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from hypothesis import strategies as st

from closeout.expect.order_facts import PASSWORDS, REMOVED_CLASSES
from closeout.expect.part_demand import part_attributes
from closeout.expect.vocabulary import (
    FITTED_CLASSES,
    LAYOUTS,
    NOT_PRESENT_CLASSES,
    OCCUPANCY,
    REPAIRS,
    UNIT_FIELDS,
)
from closeout.model.attribute import Shape, attributes_of
from closeout.model.inventory import KINDS
from closeout.model.part_demand import OWN_NUMBERS, PLACES

Table = dict[str, Any]

WORDS = st.text(
    alphabet=string.ascii_letters + string.digits + " .-_#='\"\\[]{},µ", min_size=1, max_size=12
)
TEXTS = WORDS.filter(lambda text: bool(text.strip()))
IDS = st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,3})?(/[a-z0-9]{1,6}){0,2}", fullmatch=True)
ORDERS = st.from_regex(r"[A-Z]{2}-[0-9]{1,6}", fullmatch=True)
NUMBERS = st.integers(min_value=2_000_000, max_value=10**12)
BLANK_KIND = "hinge_angle"
BLANK = st.lists(st.sampled_from(["hinge_angle.sensor", "hinge_angle.seat"]), unique=True)
NAMES = st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,3})?", fullmatch=True)
WEIGHTS = st.sampled_from(["must", "should", "note"])


def values_of_shape(shape: Shape) -> st.SearchStrategy[Any]:
    """Values that an attribute of this shape can be compared with."""
    match shape:
        case Shape.INTEGER:
            return NUMBERS
        case Shape.FLAG:
            return st.booleans()
        case _:
            return TEXTS


@st.composite
def demands(draw: st.DrawFn) -> Table:
    """One `[[demand]]` without a mistake in it."""
    kind = draw(st.sampled_from(list(KINDS)))
    demand: Table = {"class": kind, "weight": draw(WEIGHTS)}
    if draw(st.booleans()):
        demand["on_mismatch"] = draw(st.sampled_from(["fail", "review"]))
    if draw(st.booleans()):
        demand["external_counts"] = draw(st.booleans())
    if draw(st.booleans()):
        demand["part"] = draw(TEXTS)
    names = [name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY]
    free = [name for name in names if name not in {"mac", "current_mac", "uuid"}]
    if not free or draw(st.booleans()):
        return demand | draw(st.sampled_from([{"present": True}, {"devices_at_least": 2}]))
    attribute = draw(st.sampled_from(free))
    shape = attributes_of(KINDS[kind])[attribute].shape
    value = values_of_shape(shape)
    choices: list[st.SearchStrategy[Table]] = [
        st.just({"filled": True}),
        st.fixed_dictionaries({"equals": value}),
    ]
    if shape is Shape.INTEGER:
        choices.append(st.fixed_dictionaries({"at_least": value}))
    elif shape is not Shape.FLAG:
        choices.append(
            st.fixed_dictionaries({"one_of": st.lists(value, min_size=1, max_size=3, unique=True)})
        )
    return demand | {"attribute": attribute} | draw(st.one_of(choices))


@st.composite
def parts(draw: st.DrawFn) -> Table:
    """One `[[part]]` without a mistake in it; none says what only one part can have."""
    kind = draw(st.sampled_from(list(KINDS)))
    part: Table = {"class": kind, "name": draw(TEXTS), "weight": draw(WEIGHTS)}
    if draw(st.booleans()):
        part["connection"] = draw(TEXTS)
    if draw(st.booleans()):
        part["on_mismatch"] = draw(st.sampled_from(["fail", "review"]))
    shapes = attributes_of(KINDS[kind])
    own = {"mac", "current_mac", "uuid", *PLACES, *OWN_NUMBERS}
    free = [name for name in part_attributes(kind) if name not in own]
    for name in draw(st.lists(st.sampled_from(free), max_size=3, unique=True)) if free else ():
        value = values_of_shape(shapes[name].shape)
        asked = [value, st.fixed_dictionaries({"equals": value}), st.just({"filled": True})]
        if shapes[name].shape is Shape.INTEGER:
            asked.append(st.fixed_dictionaries({"at_least": value}))
        part[name] = draw(st.one_of(asked))
    return part


@st.composite
def profiles(draw: st.DrawFn) -> Table:
    """A profile without a mistake, as long as its demands do not contradict one another."""
    one_for_each = st.lists(
        demands(),
        min_size=1,
        max_size=6,
        unique_by=lambda one: (one["class"], one.get("attribute")),
    )
    profile: Table = {
        "profile": 1,
        "id": draw(IDS),
        "revision": draw(TEXTS),
        "title": draw(TEXTS),
        "demand": draw(one_for_each),
    }
    if draw(st.booleans()):
        profile["part"] = draw(st.lists(parts(), max_size=3))
    if draw(st.booleans()):
        profile["matches"] = {"manufacturer": draw(TEXTS), "product": draw(TEXTS)}
    if draw(st.booleans()):
        profile |= draw(model_facts({demand["class"] for demand in profile["demand"]}))
    return profile


@st.composite
def model_facts(draw: st.DrawFn, demanded: set[str]) -> Table:
    """What a profile says besides demands; options about classes that are not demanded."""
    free = demands().filter(lambda demand: demand["class"] not in {*demanded, BLANK_KIND})
    choice = st.fixed_dictionaries(
        {"demand": st.lists(free, max_size=1)}, optional={"sku": st.sampled_from(["A.*", "B[0-9]"])}
    )
    choices = [{"name": name, **draw(choice)} for name in ("with", "without")]
    field = draw(st.sampled_from(list(UNIT_FIELDS)))
    return {
        "keyboard_layout": draw(st.sampled_from(LAYOUTS)),
        "lacks": draw(st.lists(st.sampled_from(["clock-cell-lead", "zip-tie"]), unique=True)),
        "norm": {"blank": [] if BLANK_KIND in demanded else draw(BLANK)},
        "label": {field: {"prefixes": draw(st.lists(TEXTS, max_size=2)), "case": "upper"}},
        "option": [{"name": "panel", "choice": choices}],
    }


@st.composite
def work_orders(draw: st.DrawFn) -> Table:
    """A work order without a mistake."""
    order: Table = {"work_order": 1, "order": draw(ORDERS)}
    fields = [name for name in UNIT_FIELDS if name != "uuid"]
    order["options"] = draw(st.dictionaries(NAMES, NAMES, max_size=2))
    order["unit"] = draw(st.dictionaries(st.sampled_from(fields), TEXTS))
    order["repairs"] = draw(st.lists(st.sampled_from(REPAIRS), unique=True, max_size=3))
    fitted = draw(st.lists(st.sampled_from(FITTED_CLASSES), unique=True, max_size=3))
    order["fitted"] = [{"class": kind} for kind in fitted]
    free = [kind for kind in NOT_PRESENT_CLASSES if kind not in fitted]
    missing = draw(st.lists(st.sampled_from(free), unique=True, max_size=2))
    order["not_present"] = [{"class": kind, "reason": draw(TEXTS)} for kind in missing]
    return order | draw(order_facts())


@st.composite
def order_facts(draw: st.DrawFn) -> Table:
    """What an order says beside its demands, or a part of it."""
    part = {"part_number": TEXTS, "serial": TEXTS}
    removed = st.fixed_dictionaries({"class": st.sampled_from(REMOVED_CLASSES)}, optional=part)
    declined = st.fixed_dictionaries(
        {"what": TEXTS, "reason": TEXTS}, optional={"class": st.sampled_from(list(KINDS))}
    )
    none = st.just({"state": "none"})
    used = st.fixed_dictionaries(
        {"state": st.sampled_from(["used", "unknown"])},
        optional={"recovery_key_confirmed": st.booleans()},
    )
    facts = {
        "firmware_password": st.sampled_from(PASSWORDS),
        "encryption": st.one_of(none, used),
        "removed": st.lists(removed, max_size=2),
        "declined": st.lists(declined, max_size=2),
    }
    order: Table = draw(st.fixed_dictionaries({}, optional=facts))
    return order


def as_toml(table: Mapping[str, Any]) -> bytes:
    """The table as TOML: lists of tables and tables under headers, everything else inline."""
    return "\n".join(_lines(table)).encode()


def _lines(table: Mapping[str, Any]) -> Iterator[str]:
    later = {key: value for key, value in table.items() if _has_header(value)}
    for key, value in table.items():
        if key not in later:
            yield f"{key} = {inline(value)}"
    for key, value in later.items():
        parts = value if isinstance(value, list) else [value]
        header = f"[[{key}]]" if isinstance(value, list) else f"[{key}]"
        for part in parts:
            yield f"\n{header}"
            for name, inner in part.items():
                yield f"{name} = {inline(inner)}"


def _has_header(value: object) -> bool:
    is_tables = isinstance(value, list) and bool(value) and isinstance(value[0], dict)
    return isinstance(value, dict) or is_tables


def inline(value: Any) -> str:  # noqa: ANN401 - any value of a document
    """A value as TOML on one line; JSON's spelling of text, numbers and flags is TOML's too."""
    match value:
        case dict():
            inside = ", ".join(f"{inline(key)} = {inline(inner)}" for key, inner in value.items())
            return f"{{{inside}}}"
        case list():
            return f"[{', '.join(inline(inner) for inner in value)}]"
        case _:
            return json.dumps(value, ensure_ascii=False)


ANYTHING = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=5,
)


@st.composite
def spoilt(draw: st.DrawFn, trees: st.SearchStrategy[dict[str, Any]]) -> dict[str, Any]:
    """A sound tree with one value somewhere replaced or taken away; JSON can hold them all."""
    tree = draw(trees)
    table: Any = tree
    while True:
        keys = list(table) if isinstance(table, dict) else list(range(len(table)))
        key = draw(st.sampled_from(keys))
        inner = table[key]
        if not (isinstance(inner, dict | list) and inner and draw(st.booleans())):
            break
        table = inner
    change: Callable[[], Any] = draw(
        st.sampled_from([lambda: table.__setitem__(key, draw(ANYTHING)), lambda: table.pop(key)])
    )
    change()
    return tree
