"""Writes the JSON Schemas of profile and work order out of the model's own lists.

    python tools/generate_schemas.py           writes profiles/schemas/
    python tools/generate_schemas.py --check   ends with 1 where a file differs

An editor can check a file while it is written. The schemas know names, types and which demand
fits which attribute; contradictions, patterns and ids that must agree are left to the lint.
"""

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Final, TypeAlias

import report_schema
from closeout.expect.demand import BUS_IDS, MISMATCHES, OTHER_KEYS, WEIGHTS
from closeout.expect.fitted import HEALTH_KEY, attributes_of_part
from closeout.expect.log_line import LINE_KEYS, LONGEST_EXAMPLE, MOST_EXAMPLES, MOST_LINES
from closeout.expect.part_demand import PART_KEYS, WANTED_DEMANDS, part_attributes
from closeout.expect.profile import BUILT_IN_KEYS, MATCH_KEYS
from closeout.expect.proofreader import LARGEST_NUMBER
from closeout.expect.repair_map import LONG_TEXTS, LONGEST, MAP_FORMAT, MOST_SECONDS, NEEDED
from closeout.expect.vocabulary import (
    BUS_CLASSES,
    BUS_ID_PATTERN,
    FITTED_CLASSES,
    ID_PART,
    ID_PATTERN,
    LICENCES,
    LONGEST_TEXT,
    MOST_DEMANDS,
    MOST_PARTS,
    MOST_VALUES,
    NOT_PRESENT_CLASSES,
    OCCUPANCY,
    ORDER_PATTERN,
    PRESENCE_DEMANDS,
    PROFILE_FORMAT,
    REPAIRS,
    UNIT_FIELDS,
    VALUE_DEMANDS,
    WORK_ORDER_FORMAT,
)
from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.expectation import DEMANDS_BY_SHAPE
from closeout.model.inventory import KINDS

Schema: TypeAlias = dict[str, object]

FOLDER: Final = Path(__file__).resolve().parent.parent / "profiles" / "schemas"
DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
TEXT: Final[Schema] = {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT}
NUMBER: Final[Schema] = {"type": "integer", "minimum": 0, "exclusiveMaximum": LARGEST_NUMBER}
FLAG: Final[Schema] = {"type": "boolean"}
TRUE: Final[Schema] = {"const": True}
TYPES: Final[Mapping[Shape, str]] = {
    Shape.TEXT: "text",
    Shape.VERSION: "text",
    Shape.TEXTS: "text",
    Shape.INTEGER: "number",
    Shape.FLAG: "flag",
}


def profile_schema() -> Schema:
    """Schema of a profile file."""
    demand = {
        "type": "array",
        "minItems": 1,
        "maxItems": MOST_DEMANDS,
        "items": {"$ref": "#/$defs/demand"},
    }
    properties: Schema = {
        "profile": {"const": PROFILE_FORMAT},
        "id": _matching(ID_PATTERN),
        "revision": TEXT,
        "title": TEXT,
        "matches": _table(dict.fromkeys(MATCH_KEYS, TEXT), MATCH_KEYS),
        "built_in": _table(dict.fromkeys(BUILT_IN_KEYS, _list(TEXT))),
        "harmless": {"type": "array", "maxItems": MOST_LINES, "items": _known_line()},
        "demand": demand,
        "part": _list({"oneOf": [_part(kind) for kind in KINDS]}),
    }
    return {
        "$schema": DIALECT,
        "title": "closeout profile, format 1",
        **_table(properties, ("profile", "id", "revision", "title", "demand")),
        "$defs": {
            **_value_definitions(),
            **{f"asked_{shape.value}": _asked(shape) for shape in Shape},
            "demand": _demand(),
        },
    }


def repair_map_schema() -> Schema:
    """Schema of the repair map."""
    long_text: Schema = {"type": "string", "minLength": 1, "maxLength": LONGEST}
    connection: Schema = {
        "id": _matching(ID_PART),
        "name": TEXT,
        **dict.fromkeys(LONG_TEXTS, long_text),
        "fails": {**_list(TEXT), "minItems": 1},
        "touches": _list({"enum": list(KINDS)}),
        "demand": _list({"$ref": "#/$defs/demand"}),
        "weight": {"enum": list(WEIGHTS)},
        "seconds": {"type": "integer", "minimum": 0, "maximum": MOST_SECONDS},
    }
    repair: Schema = {
        "id": {"enum": list(REPAIRS)},
        "title": TEXT,
        "disturbs": _list(_matching(ID_PART)),
    }
    properties: Schema = {
        "repair_map": {"const": MAP_FORMAT},
        "id": _matching(ID_PATTERN),
        "revision": TEXT,
        "connection": _list(_table(connection, NEEDED)),
        "repair": _list(_table(repair, tuple(repair))),
    }
    return {
        "$schema": DIALECT,
        "title": "closeout repair map, format 1",
        **_table(properties, tuple(properties)),
        "$defs": {**_value_definitions(), "demand": _demand()},
    }


def _known_line() -> Schema:
    """A line of the kernel's log that every unit of a model has."""
    example: Schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_EXAMPLE}
    examples: Schema = {
        "type": "array",
        "minItems": 1,
        "maxItems": MOST_EXAMPLES,
        "items": example,
    }
    return _table({"pattern": TEXT, "meaning": TEXT, "examples": examples}, LINE_KEYS)


def work_order_schema() -> Schema:
    """Schema of a work order file."""
    firmware = {
        "version_at_least": TEXT,
        "secure_boot": FLAG,
        "licence": {"enum": list(LICENCES)},
    }
    absent = {"class": {"enum": list(NOT_PRESENT_CLASSES)}, "reason": TEXT}
    properties: Schema = {
        "work_order": {"const": WORK_ORDER_FORMAT},
        "order": _matching(ORDER_PATTERN),
        "profile": _matching(ID_PATTERN),
        "repairs": _list({"enum": list(REPAIRS)}),
        "unit": _table(dict.fromkeys(UNIT_FIELDS, TEXT)),
        "firmware": _table(firmware),
        "fitted": _list({"oneOf": [_fitted(kind) for kind in FITTED_CLASSES]}),
        "not_present": _list(_table(absent, tuple(absent))),
    }
    return {
        "$schema": DIALECT,
        "title": "closeout work order, format 1",
        **_table(properties, ("work_order", "order")),
        "$defs": _value_definitions(),
    }


def _value_definitions() -> Schema:
    return {"text": TEXT, "number": NUMBER, "flag": FLAG}


def _demand() -> Schema:
    properties: Schema = {
        **dict.fromkeys(OTHER_KEYS, TEXT),
        "class": {"enum": list(KINDS)},
        "weight": {"enum": list(WEIGHTS)},
        "where": {"type": "object"},
        "on_mismatch": {"enum": list(MISMATCHES)},
        "external_counts": FLAG,
        BUS_IDS: _list(_matching(BUS_ID_PATTERN)),
        "present": TRUE,
        **dict.fromkeys(PRESENCE_DEMANDS[1:], NUMBER),
        **dict.fromkeys(VALUE_DEMANDS, True),
        "filled": TRUE,
        "empty": TRUE,
        "matches_order": TRUE,
    }
    return {
        **_table(properties, ("class", "weight")),
        "if": {"required": ["attribute"]},
        "then": _exactly_one(VALUE_DEMANDS, PRESENCE_DEMANDS, ("at_least", "at_most")),
        "else": _exactly_one(
            PRESENCE_DEMANDS, VALUE_DEMANDS, ("devices_at_least", "devices_at_most")
        ),
        "allOf": [_of_class(kind) for kind in KINDS],
    }


def _exactly_one(keys: Iterable[str], not_here: Iterable[str], pair: tuple[str, str]) -> Schema:
    """One of the keys, or the pair of them, and none of the others."""
    alone: list[Schema] = [{"required": [key]} for key in keys if key not in pair]
    either: Schema = {"anyOf": [{"required": [key]} for key in pair]}
    return {"oneOf": [*alone, either], "properties": dict.fromkeys(not_here, False)}


def _of_class(kind: str) -> Schema:
    """What a demand on this class may name, and what fits each attribute."""
    attributes = {
        name: attribute
        for name, attribute in attributes_of(KINDS[kind]).items()
        if name not in OCCUPANCY
    }
    conditions = {name: _value(attribute) for name, attribute in attributes.items()}
    return {
        "if": {"properties": {"class": {"const": kind}}, "required": ["class"]},
        "then": {
            "properties": {
                "attribute": {"enum": list(attributes)},
                "where": _table(conditions),
            },
            "allOf": [_of_shape(shape, names) for shape, names in _by_shape(attributes).items()],
        },
    }


def _by_shape(attributes: Mapping[str, Attribute]) -> Mapping[Shape, list[str]]:
    names: dict[Shape, list[str]] = {}
    for name, attribute in attributes.items():
        names.setdefault(attribute.shape, []).append(name)
    return names


def _of_shape(shape: Shape, names: list[str]) -> Schema:
    named = {"properties": {"attribute": {"enum": names}}, "required": ["attribute"]}
    return {"if": named, "then": {"properties": _demands_on(shape)}}


def _demands_on(shape: Shape) -> Schema:
    """What each key of a demand takes on an attribute of this shape; False where it fits none."""
    value = {"$ref": f"#/$defs/{TYPES[shape]}"}
    pair = {"type": "array", "items": value, "minItems": 2, "maxItems": 2}
    fitting: Mapping[str, object] = {
        "filled": True,
        "empty": True,
        "matches_order": True,
        "equals": value,
        "one_of": {
            "type": "array",
            "items": value,
            "minItems": 1,
            "maxItems": MOST_VALUES,
            "uniqueItems": True,
        },
        "pattern": TEXT,
        "newer_or_equal": TEXT,
        "at_least": value,
        "at_most": value,
        "within": pair,
    }
    allowed = DEMANDS_BY_SHAPE[shape]
    return {
        key: fitting[key] if demand in allowed else False for key, demand in VALUE_DEMANDS.items()
    }


def _fitted(kind: str) -> Schema:
    attributes = attributes_of(KINDS[kind])
    properties: Schema = {
        "class": {"const": kind},
        **{name: _value(attributes[name]) for name in attributes_of_part(kind)},
    }
    if kind == "battery":
        properties[HEALTH_KEY] = NUMBER
    return _table(properties, ("class",))


def _part(kind: str) -> Schema:
    """One part of the model: what a plain value or a table asks of its device."""
    attributes = attributes_of(KINDS[kind])
    properties: Schema = {
        **{
            name: _reference(f"asked_{attributes[name].shape.value}")
            for name in part_attributes(kind)
        },
        **dict.fromkeys(PART_KEYS, TEXT),
        "class": {"const": kind},
        "weight": {"enum": list(WEIGHTS)},
        "on_mismatch": {"enum": list(MISMATCHES)},
        BUS_IDS: False if kind in BUS_CLASSES else _list(_matching(BUS_ID_PATTERN)),
    }
    return _table(properties, ("class", "name", "weight"))


def _asked(shape: Shape) -> Schema:
    """A value that is wanted exactly, or one demand, or a pair of bounds, in a table."""
    table = {
        key: TRUE if demand is True else demand
        for key, demand in _demands_on(shape).items()
        if key in WANTED_DEMANDS and demand is not False
    }
    several: Schema = {**_table(table), "minProperties": 1, "maxProperties": 2}
    return {"anyOf": [_reference(TYPES[shape]), several]}


def _reference(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _value(attribute: Attribute) -> Schema:
    meaning = f"{attribute.meaning} ({attribute.unit})" if attribute.unit else attribute.meaning
    return {"$ref": f"#/$defs/{TYPES[attribute.shape]}", "description": meaning}


def _matching(pattern: str) -> Schema:
    return {"type": "string", "maxLength": LONGEST_TEXT, "pattern": f"^(?:{pattern})$"}


def _list(items: Schema) -> Schema:
    return {"type": "array", "maxItems": MOST_PARTS, "items": items}


def _table(properties: Mapping[str, object], required: Iterable[str] = ()) -> Schema:
    table: Schema = {
        "type": "object",
        "additionalProperties": False,
        "properties": dict(properties),
    }
    if needed := list(required):
        table["required"] = needed
    return table


SCHEMAS: Final[Mapping[str, Callable[[], Schema]]] = {
    "profile-1.schema.json": profile_schema,
    "repair-map-1.schema.json": repair_map_schema,
    "work-order-1.schema.json": work_order_schema,
}


def render(schema: Schema) -> str:
    """The text of a schema file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def main(arguments: list[str]) -> int:
    """Writes the files, or with `--check` compares them; 1 where one differs."""
    differing: list[str] = []
    wanted = {FOLDER / name: render(build()) for name, build in SCHEMAS.items()}
    for path, text in {**wanted, report_schema.FILE: report_schema.render_report_schema()}.items():
        if path.is_file() and path.read_text(encoding="utf-8") == text:
            continue
        differing.append(path.name)
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
    if differing and "--check" in arguments:
        print(f"differs from the model, generate again: {', '.join(differing)}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
