"""What the JSON Schemas of the files that people write are put together from."""

from collections.abc import Iterable, Mapping
from typing import Final, TypeAlias

from closeout.expect.proofreader import LARGEST_NUMBER
from closeout.expect.vocabulary import LONGEST_TEXT, MOST_PARTS

Schema: TypeAlias = dict[str, object]

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
TEXT: Final[Schema] = {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT}
NUMBER: Final[Schema] = {"type": "integer", "minimum": 0, "exclusiveMaximum": LARGEST_NUMBER}
FLAG: Final[Schema] = {"type": "boolean"}
TRUE: Final[Schema] = {"const": True}


def matching(pattern: str) -> Schema:
    """Text of which all matches the pattern."""
    return {"type": "string", "maxLength": LONGEST_TEXT, "pattern": f"^(?:{pattern})$"}


def list_of(items: Schema) -> Schema:
    """A list of such items."""
    return {"type": "array", "maxItems": MOST_PARTS, "items": items}


def table(properties: Mapping[str, object], required: Iterable[str] = ()) -> Schema:
    """A table of these keys and no others."""
    described: Schema = {
        "type": "object",
        "additionalProperties": False,
        "properties": dict(properties),
    }
    if needed := list(required):
        described["required"] = needed
    return described
