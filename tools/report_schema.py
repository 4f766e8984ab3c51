"""The part of the report's schema that follows from the kinds of devices.

All else in `reports/report-1.schema.json` is written by hand and kept.
"""

import json
from pathlib import Path
from typing import Any, Final

from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.inventory import KINDS

FILE: Final = Path(__file__).resolve().parent.parent / "reports" / "report-1.schema.json"
READINGS: Final = {
    Shape.TEXT: "text_reading",
    Shape.VERSION: "text_reading",
    Shape.TEXTS: "texts_reading",
    Shape.INTEGER: "integer_reading",
    Shape.FLAG: "flag_reading",
}
MASKED: Final = "masked_integer_reading"
"""A personal number is a text where the report is redacted."""


def render_report_schema() -> str:
    """The schema with every kind that there is, in their order."""
    schema: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
    schema["properties"]["inventory"]["properties"] = {kind: _section(kind) for kind in KINDS}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _section(kind: str) -> dict[str, Any]:
    told = {name: _reading(one) for name, one in attributes_of(KINDS[kind]).items()}
    device = {"properties": {"attributes": {"properties": told}}}
    return {
        "allOf": [{"$ref": "#/$defs/section"}],
        "properties": {"devices": {"items": device}},
    }


def _reading(attribute: Attribute) -> dict[str, str]:
    is_masked = attribute.personal and attribute.shape is Shape.INTEGER
    reading = MASKED if is_masked else READINGS[attribute.shape]
    unit = f" [{attribute.unit}]" if attribute.unit else ""
    personal = "; personal" if attribute.personal else ""
    return {"description": f"{attribute.meaning}{unit}{personal}", "$ref": f"#/$defs/{reading}"}
