"""What firmware leaves in memory: SMBIOS structures, the licence key table, the panel's EDID.

Layouts come from the same builders as the tables of the unit tests (`strategies`): DMTF DSP0134 for
SMBIOS, VESA E-EDID. SMBIOS types 4 and 22 are built here.
"""

import struct
from collections.abc import Iterator, Mapping
from uuid import UUID

from notebook.description import Battery, Licence, Memory, Notebook, Panel, Processor
from strategies import smbios
from strategies.edid import EdidPlan, TimingPlan, build_edid
from strategies.msdm import MsdmPlan, build_msdm

SODIMM, ROW_OF_CHIPS = 0x0D, 0x0B
DDR4, UNKNOWN_MEMORY = 0x1A, 0x02
SIZE_EXTENDED = 0x7FFF
NO_UUID = b"\xff" * 16
STATUSES = ("disabled", "enabled", "not implemented", "unknown")
ROLES = ("front_panel_reset", "administrator", "keyboard", "power_on")
"""Of the passwords in type 24, two bits each from the lowest on (DSP0134 7.25)."""


def smbios_structures(notebook: Notebook) -> tuple[bytes, ...]:
    """The structures of the notebook, each whole; the emulator adds entry point and end."""
    return tuple(_structures(notebook))


def _structures(notebook: Notebook) -> Iterator[bytes]:
    yield from _identity(notebook)
    yield _processor(notebook.processor)
    if notebook.oem_strings:
        yield smbios.oem_strings([text.encode() for text in notebook.oem_strings])
    yield smbios.memory_array(devices=len(notebook.memory))
    for index, memory in enumerate(notebook.memory.values()):
        yield _memory(memory, 0x20 + index)
    if notebook.passwords:
        yield _security(notebook.passwords)
    for index, battery in enumerate(notebook.battery.values()):
        if battery.present:
            yield _battery(battery, 0x30 + index)


def _identity(notebook: Notebook) -> Iterator[bytes]:
    bios, system = notebook.bios, notebook.system
    yield smbios.bios(
        vendor=bios.vendor,
        version=bios.version,
        date=bios.date,
        release=bios.release,
        ec_release=bios.ec_release,
    )
    yield smbios.system(
        manufacturer=system.manufacturer,
        product=system.product,
        version=system.version,
        serial=system.serial,
        uuid=UUID(system.uuid).bytes_le if system.uuid else NO_UUID,
        sku=system.sku,
        family=system.family,
    )
    board, chassis = notebook.board, notebook.chassis
    yield smbios.board(
        manufacturer=board.manufacturer,
        product=board.product,
        version=board.version,
        serial=board.serial,
        asset_tag=board.asset_tag,
    )
    yield smbios.chassis(
        manufacturer=chassis.manufacturer,
        chassis_type=chassis.type,
        version=chassis.version,
        serial=chassis.serial,
        asset_tag=chassis.asset_tag,
        sku=chassis.sku,
    )


def _memory(memory: Memory, handle: int) -> bytes:
    fitted = memory.mib > 0
    return smbios.memory_device(
        handle=handle,
        locator=memory.locator,
        bank_locator=memory.bank,
        widths=(64, 64) if fitted else (0, 0),
        size=min(memory.mib, SIZE_EXTENDED),
        extended_size=memory.mib if memory.mib >= SIZE_EXTENDED else 0,
        form_factor=ROW_OF_CHIPS if memory.soldered else SODIMM,
        memory_type=DDR4 if fitted else UNKNOWN_MEMORY,
        manufacturer=memory.maker,
        serial=memory.serial,
        part_number=memory.part,
        speed=memory.speed if fitted else 0,
        configured_speed=memory.configured_speed if fitted else 0,
        attributes=1 if fitted else 0,
        millivolts=(1200, 1200, 1200) if fitted else (0, 0, 0),
    )


def _security(passwords: Mapping[str, str]) -> bytes:
    """A role that is not told of is not implemented."""
    statuses = [STATUSES.index(passwords.get(role, "not implemented")) for role in ROLES]
    return smbios.hardware_security(sum(status << 2 * at for at, status in enumerate(statuses)))


def _processor(processor: Processor) -> bytes:
    """Type 4 (DSP0134 7.5) up to the thread counts: a central processor, enabled, in its socket."""
    strings = smbios.Strings()
    formatted = struct.pack(
        "<BBBBQBBHHHBBHHHBBBBBBHHHHH",
        strings.number("U1"),
        3,
        2,
        strings.number(processor.manufacturer),
        0,
        strings.number(processor.version),
        0x89,
        100,
        processor.max_mhz,
        processor.current_mhz,
        0x41,
        1,
        0xFFFF,
        0xFFFF,
        0xFFFF,
        0,
        0,
        0,
        2,
        2,
        2,
        0x0C,
        0x02,
        2,
        2,
        2,
    )
    return smbios.build_structure(4, 4, formatted, strings.texts)


def _battery(battery: Battery, handle: int) -> bytes:
    """Type 22 (DSP0134 7.23): a portable battery; its capacity comes in tens of mWh."""
    strings = smbios.Strings()
    formatted = struct.pack(
        "<BBBBBBHHBBHHBBI",
        strings.number("Rear"),
        strings.number(battery.maker or None),
        0,
        0,
        strings.number(battery.model or None),
        2,
        battery.design_mwh // 10,
        battery.design_millivolts,
        strings.number("1.1"),
        0xFF,
        0,
        0,
        strings.number(battery.chemistry),
        10,
        0,
    )
    return smbios.build_structure(22, handle, formatted, strings.texts)


def licence_table(licence: Licence) -> bytes:
    """The licence key table."""
    plan = MsdmPlan(
        key=licence.key.encode("ascii"),
        oem_id=licence.oem_id.encode("ascii"),
        oem_table_id=licence.oem_table_id.encode("ascii").ljust(8),
    )
    return build_msdm(plan)


def panel_edid(panel: Panel) -> bytes:
    """The panel's EDID; a damaged one has a wrong sum."""
    width, height = panel.millimetres
    edid = build_edid(
        EdidPlan(
            letters=panel.letters,
            product=panel.product,
            serial=panel.serial,
            texts=panel.texts,
            size_centimetres=(round(width / 10), round(height / 10)),
            timings=(
                TimingPlan(
                    width=panel.width,
                    height=panel.height,
                    clock_hz=panel.clock_hz,
                    millimetres=panel.millimetres,
                ),
            ),
        )
    )
    return edid[:-1] + bytes([edid[-1] ^ 0x55]) if panel.damaged else edid
