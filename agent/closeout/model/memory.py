"""Memory: the modules as SMBIOS type 17 lists them, and the sum the kernel has."""

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


@frozen
class MainMemory(Device):
    """All memory of the unit."""

    installed_bytes: Reading[int] = field(
        metadata=about("sum of the fitted modules", Shape.INTEGER, unit="B")
    )
    fitted_modules: Reading[int] = field(metadata=about("number of fitted modules", Shape.INTEGER))
    kernel_total_bytes: Reading[int] = field(
        metadata=about("memory the kernel manages (always less)", Shape.INTEGER, unit="B")
    )
