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
from typing import Final

import report_schema
from closeout.expect.demand import BUS_IDS, MISMATCHES, OTHER_KEYS, WEIGHTS
from closeout.expect.fitted import HEALTH_KEY, attributes_of_part
from closeout.expect.log_line import MOST_LINES
from closeout.expect.model_facts import BUILT_IN_KEYS, NORM_KEYS
from closeout.expect.option import CHOICE_KEYS, FEWEST_CHOICES, OPTION_KEYS
from closeout.expect.order_facts import PART_NUMBER
from closeout.expect.part_demand import PART_KEYS, WANTED_DEMANDS, part_attributes
from closeout.expect.profile_file import DROP_KEYS, MATCH_KEYS
from closeout.expect.repair_map import LONG_TEXTS, MAP_FORMAT, MOST_SECONDS, NEEDED
from closeout.expect.value_demand import TOLERANCES
from closeout.expect.vocabulary import (
    BUS_CLASSES,
    BUS_ID_PATTERN,
    CONNECTION_PATTERN,
    FITTED_CLASSES,
    ID_PART,
    ID_PATTERN,
    LAYOUTS,
    LONGEST_TELLING,
    MOST_DEMANDS,
    MOST_VALUES,
    OCCUPANCY,
    OPTION_PATTERN,
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
from order_fact_schema import FIRMWARE, NOT_PRESENT, order_fact_schemas
from profile_tables import known_line, label, own_connection
from schema_parts import DIALECT, FLAG, NUMBER, TEXT, TRUE, Schema, list_of, matching, table

FOLDER: Final = Path(__file__).resolve().parent.parent / "profiles" / "schemas"
FIELD_PATTERN: Final = r"[a-z_]+\.[a-z0-9_]+"
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
        "id": matching(ID_PATTERN),
        "revision": TEXT,
        "title": TEXT,
        "inherits": matching(ID_PATTERN),
        "base": TRUE,
        "matches": table(dict.fromkeys(MATCH_KEYS, TEXT), MATCH_KEYS),
        "lacks": list_of(matching(CONNECTION_PATTERN)),
        "keyboard_layout": {"enum": list(LAYOUTS)},
        "norm": table(dict.fromkeys(NORM_KEYS, list_of(matching(FIELD_PATTERN)))),
        "label": table(dict.fromkeys(UNIT_FIELDS, label())),
        "built_in": table(dict.fromkeys(BUILT_IN_KEYS, list_of(TEXT))),
        "harmless": {"type": "array", "maxItems": MOST_LINES, "items": known_line()},
        "demand": demand,
        "part": list_of({"oneOf": [_part(kind) for kind in KINDS]}),
        "connection": list_of(own_connection()),
        "drop": {"type": "array", "maxItems": MOST_DEMANDS, "items": _drop()},
        "option": {"type": "array", "maxItems": MOST_VALUES, "items": _option()},
    }
    return {
        "$schema": DIALECT,
        "title": "closeout profile, format 1",
        **table(properties, ("profile", "id", "revision", "title")),
        "anyOf": [{"required": [key]} for key in ("demand", "inherits", "base")],
        "not": {"required": ["base", "matches"]},
        "$defs": {
            **_value_definitions(),
            **{f"asked_{shape.value}": _asked(shape) for shape in Shape},
            "demand": _demand(),
        },
    }


def repair_map_schema() -> Schema:
    """Schema of the repair map."""
    long_text: Schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_TELLING}
    connection: Schema = {
        "id": matching(ID_PART),
        "name": TEXT,
        **dict.fromkeys(LONG_TEXTS, long_text),
        "fails": {**list_of(TEXT), "minItems": 1},
        "touches": list_of({"enum": list(KINDS)}),
        "demand": list_of({"$ref": "#/$defs/demand"}),
        "weight": {"enum": list(WEIGHTS)},
        "seconds": {"type": "integer", "minimum": 0, "maximum": MOST_SECONDS},
    }
    repair: Schema = {
        "id": {"enum": list(REPAIRS)},
        "title": TEXT,
        "disturbs": list_of(matching(ID_PART)),
    }
    properties: Schema = {
        "repair_map": {"const": MAP_FORMAT},
        "id": matching(ID_PATTERN),
        "revision": TEXT,
        "connection": list_of(table(connection, NEEDED)),
        "repair": list_of(table(repair, tuple(repair))),
    }
    return {
        "$schema": DIALECT,
        "title": "closeout repair map, format 1",
        **table(properties, tuple(properties)),
        "$defs": {**_value_definitions(), "demand": _demand()},
    }


def _drop() -> Schema:
    """An inherited demand that is taken away."""
    properties: Schema = {
        **dict.fromkeys(DROP_KEYS, TEXT),
        "class": {"enum": list(KINDS)},
        "where": {"type": "object"},
    }
    return table(properties, ("class", "reason"))


def _option() -> Schema:
    """What a model comes with in more than one form."""
    name = matching(OPTION_PATTERN)
    demands = {
        "type": "array",
        "maxItems": MOST_DEMANDS,
        "items": {"$ref": "#/$defs/demand"},
    }
    choice = table(dict(zip(CHOICE_KEYS, (name, TEXT, demands), strict=True)), ("name",))
    choices = {
        "type": "array",
        "minItems": FEWEST_CHOICES,
        "maxItems": MOST_VALUES,
        "items": choice,
    }
    return table(dict(zip(OPTION_KEYS, (name, choices), strict=True)), OPTION_KEYS)


def work_order_schema() -> Schema:
    """Schema of a work order file."""
    properties: Schema = {
        "work_order": {"const": WORK_ORDER_FORMAT},
        "order": matching(ORDER_PATTERN),
        "profile": matching(ID_PATTERN),
        "repairs": list_of({"enum": list(REPAIRS)}),
        "unit": table(dict.fromkeys(UNIT_FIELDS, TEXT)),
        "firmware": table(FIRMWARE),
        "options": {
            "type": "object",
            "propertyNames": matching(OPTION_PATTERN),
            "additionalProperties": matching(OPTION_PATTERN),
        },
        "fitted": list_of({"oneOf": [_fitted(kind) for kind in FITTED_CLASSES]}),
        "not_present": list_of(table(NOT_PRESENT, tuple(NOT_PRESENT))),
        **order_fact_schemas(),
    }
    return {
        "$schema": DIALECT,
        "title": "closeout work order, format 1",
        **table(properties, ("work_order", "order")),
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
        **dict.fromkeys(TOLERANCES, NUMBER),
        BUS_IDS: list_of(matching(BUS_ID_PATTERN)),
        "present": TRUE,
        **dict.fromkeys(PRESENCE_DEMANDS[1:], NUMBER),
        **dict.fromkeys(VALUE_DEMANDS, True),
        "filled": TRUE,
        "empty": TRUE,
        "matches_order": TRUE,
    }
    return {
        **table(properties, ("class", "weight")),
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
                "where": table(conditions),
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
        PART_NUMBER: TEXT,
        **{name: _value(attributes[name]) for name in attributes_of_part(kind)},
    }
    if kind == "battery":
        properties[HEALTH_KEY] = NUMBER
    return table(properties, ("class",))


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
        BUS_IDS: False if kind in BUS_CLASSES else list_of(matching(BUS_ID_PATTERN)),
    }
    return table(properties, ("class", "name", "weight"))


def _asked(shape: Shape) -> Schema:
    """A value that is wanted exactly, or one demand, or a pair of bounds, in a table."""
    keys = {
        key: TRUE if demand is True else demand
        for key, demand in _demands_on(shape).items()
        if key in WANTED_DEMANDS and demand is not False
    }
    several: Schema = {**table(keys), "minProperties": 1, "maxProperties": 2}
    return {"anyOf": [_reference(TYPES[shape]), several]}


def _reference(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _value(attribute: Attribute) -> Schema:
    meaning = f"{attribute.meaning} ({attribute.unit})" if attribute.unit else attribute.meaning
    return {"$ref": f"#/$defs/{TYPES[attribute.shape]}", "description": meaning}


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
