"""Memory: modules and sockets as SMBIOS types 16 and 17 list them, and what the kernel has."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class MemoryModule(Device):
    """One socket or soldered bank; an empty socket has `fitted` false and no size."""

    fitted: Reading[bool] = field(metadata=about("something sits in the socket", Shape.FLAG))
    size_bytes: Reading[int] = field(metadata=about("size of the module", Shape.INTEGER, unit="B"))
    locator: Reading[str] = field(metadata=about("name of the socket"))
    bank_locator: Reading[str] = field(metadata=about("name of the bank"))
    memory_type: Reading[str] = field(metadata=about("DDR4, LPDDR5 ..."))
    form_factor: Reading[str] = field(metadata=about("SODIMM, Row Of Chips ..."))
    manufacturer: Reading[str] = field(metadata=about("maker of the module"))
    part_number: Reading[str] = field(metadata=about("part number of the module"))
    serial: Reading[str] = field(metadata=about("serial number of the module", personal=True))
    asset_tag: Reading[str] = field(metadata=about("asset tag of the module", personal=True))
    speed_mts: Reading[int] = field(metadata=about("rated speed", Shape.INTEGER, unit="MT/s"))
    configured_speed_mts: Reading[int] = field(
        metadata=about("speed it runs at", Shape.INTEGER, unit="MT/s")
    )
    runs_slower: Reading[bool] = field(
        metadata=about("it runs slower than it is rated for, which is no fault", Shape.FLAG)
    )
    rank: Reading[int] = field(metadata=about("ranks of the module", Shape.INTEGER))
    data_width_bits: Reading[int] = field(
        metadata=about("width of its bus", Shape.INTEGER, unit="bit")
    )
    total_width_bits: Reading[int] = field(
        metadata=about("width with the bits that correct errors", Shape.INTEGER, unit="bit")
    )
    configured_voltage_mv: Reading[int] = field(
        metadata=about("voltage it runs at", Shape.INTEGER, unit="mV")
    )
    technology: Reading[str] = field(metadata=about("DRAM, NVDIMM-N ..."))


@frozen
class MainMemory(Device):
    """All memory of the unit."""

    installed_bytes: Reading[int] = field(
        metadata=about("sum of the fitted modules", Shape.INTEGER, unit="B")
    )
    fitted_modules: Reading[int] = field(metadata=about("number of fitted modules", Shape.INTEGER))
    slots: Reading[int] = field(
        metadata=about("number of sockets and soldered banks", Shape.INTEGER)
    )
    empty_slots: Reading[int] = field(metadata=about("number of empty sockets", Shape.INTEGER))
    maximum_bytes: Reading[int] = field(
        metadata=about("most memory that the board takes", Shape.INTEGER, unit="B")
    )
    location: Reading[str] = field(metadata=about("where the sockets are"))
    error_correction: Reading[str] = field(metadata=about("None, Single-bit ECC ..."))
    channels: Reading[int] = field(
        metadata=about("number of channels, where the table lists them", Shape.INTEGER)
    )
    one_speed: Reading[bool] = field(
        metadata=about("all fitted modules run at the same speed", Shape.FLAG)
    )
    kernel_total_bytes: Reading[int] = field(
        metadata=about("memory the kernel manages (always less)", Shape.INTEGER, unit="B")
    )
    online_bytes: Reading[int] = field(
        metadata=about(
            "memory blocks that are online, the kernel's other count", Shape.INTEGER, unit="B"
        )
    )
