"""The parts of the work order's schema that say nothing of devices."""

from typing import Final

from closeout.expect.order_facts import ENCRYPTIONS, PART_NUMBER, PASSWORDS, REMOVED_CLASSES
from closeout.expect.vocabulary import LICENCES, NOT_PRESENT_CLASSES
from closeout.model.inventory import KINDS
from schema_parts import FLAG, TEXT, Schema, list_of, table

FIRMWARE: Final[Schema] = {
    "version_at_least": TEXT,
    "secure_boot": FLAG,
    "licence": {"enum": list(LICENCES)},
}
NOT_PRESENT: Final[Schema] = {"class": {"enum": list(NOT_PRESENT_CLASSES)}, "reason": TEXT}
REMOVED: Final[Schema] = {
    "class": {"enum": list(REMOVED_CLASSES)},
    PART_NUMBER: TEXT,
    "serial": TEXT,
}
DECLINED: Final[Schema] = {"class": {"enum": list(KINDS)}, "what": TEXT, "reason": TEXT}


def order_fact_schemas() -> Schema:
    """The schema of each key."""
    return {
        "firmware_password": {"enum": list(PASSWORDS)},
        "encryption": _encryption(),
        "removed": list_of(table(REMOVED, ("class",))),
        "declined": list_of(table(DECLINED, ("what", "reason"))),
    }


def _encryption() -> Schema:
    """Of a disk that is not encrypted nobody has a key."""
    told: Schema = {"state": {"enum": list(ENCRYPTIONS)}, "recovery_key_confirmed": FLAG}
    return {
        **table(told),
        "if": {"properties": {"state": {"const": "none"}}, "required": ["state"]},
        "then": {"properties": {"recovery_key_confirmed": False}},
        "anyOf": [{"maxProperties": 0}, {"required": ["state"]}],
    }
