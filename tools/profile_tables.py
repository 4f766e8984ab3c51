"""Schemas of the smaller tables of a profile."""

from closeout.expect.label_format import CASES, HYPHENS
from closeout.expect.log_line import LINE_KEYS, LONGEST_EXAMPLE, MOST_EXAMPLES
from closeout.expect.model_facts import LABEL_KEYS
from closeout.expect.own_connection import WORDS
from closeout.expect.vocabulary import CONNECTION_PATTERN, LONGEST_TELLING
from schema_parts import TEXT, Schema, list_of, matching, table


def own_connection() -> Schema:
    """The model's own words for a connection of the repair map."""
    words = {"type": "string", "minLength": 1, "maxLength": LONGEST_TELLING}
    keys: Schema = {"id": matching(CONNECTION_PATTERN), **dict.fromkeys(WORDS, words)}
    return {**table(keys, ("id",)), "minProperties": 2}


def known_line() -> Schema:
    """A line of the kernel's log that every unit of a model has."""
    example: Schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_EXAMPLE}
    examples: Schema = {
        "type": "array",
        "minItems": 1,
        "maxItems": MOST_EXAMPLES,
        "items": example,
    }
    return table({"pattern": TEXT, "meaning": TEXT, "examples": examples}, LINE_KEYS)


def label() -> Schema:
    """How the label shows a field."""
    forms = (list_of(TEXT), {"enum": list(CASES)}, {"enum": list(HYPHENS)})
    return table(dict(zip(LABEL_KEYS, forms, strict=True)))
