"""Licence key tables of any kind, well built or with named faults."""

import struct
from dataclasses import dataclass, replace

from hypothesis import strategies as st

LETTERS = "BCDFGHJKMPQRTVWXY2346789N"
KEY_AT = 56


@dataclass(frozen=True, slots=True, kw_only=True)
class MsdmPlan:
    """What a table is to say; None for a length or sum means the right one."""

    key: bytes = b"BCDFG-HJKMP-QRTVW-XY234-6789N"
    revision: int = 3
    oem_id: bytes = b"NORWEL"
    oem_table_id: bytes = b"SLATE   "
    version: int = 1
    data_type: int = 1
    data_length: int | None = None
    length: int | None = None
    checksum: int | None = None


def build_msdm(plan: MsdmPlan) -> bytes:
    """The table's bytes with the sum that makes it zero, unless the plan gives another."""
    whole = KEY_AT + len(plan.key)
    length = whole if plan.length is None else plan.length
    data_length = len(plan.key) if plan.data_length is None else plan.data_length
    header = struct.pack(
        "<4sIBB6s8sI4sI",
        b"MSDM",
        length,
        plan.revision,
        0,
        plan.oem_id.ljust(6),
        plan.oem_table_id.ljust(8),
        1,
        b"CLO ",
        1,
    )
    fields = struct.pack("<5I", plan.version, 0, plan.data_type, 0, data_length)
    table = bytearray(header + fields + plan.key)
    table[9] = -sum(table[:length]) % 256 if plan.checksum is None else plan.checksum
    return bytes(table)


def sound_keys() -> st.SearchStrategy[bytes]:
    """Well-formed keys of invented letters; all the same letter is no key."""
    group = st.text(LETTERS, min_size=5, max_size=5)
    keys = st.lists(group, min_size=5, max_size=5).map(lambda groups: "-".join(groups).encode())
    return keys.filter(lambda key: len(set(key)) > 2)


def sound_plans() -> st.SearchStrategy[MsdmPlan]:
    """Tables without a fault."""
    return st.builds(
        MsdmPlan,
        key=sound_keys(),
        revision=st.integers(0, 255),
        oem_id=st.text("ABCXYZ", max_size=6).map(str.encode),
        oem_table_id=st.text("ABCXYZ-1", max_size=8).map(str.encode),
    )


def faulty_plans() -> st.SearchStrategy[MsdmPlan]:
    """Tables with one of the faults that tables have."""
    number = st.integers(0, 0xFFFFFFFF)
    changes = st.one_of(
        st.fixed_dictionaries({"key": st.binary(max_size=60)}),
        st.fixed_dictionaries({"version": number}),
        st.fixed_dictionaries({"data_type": number}),
        st.fixed_dictionaries({"data_length": number}),
        st.fixed_dictionaries({"length": number}),
        st.fixed_dictionaries({"checksum": st.integers(0, 255)}),
    )
    return st.builds(lambda plan, change: replace(plan, **change), sound_plans(), changes)
