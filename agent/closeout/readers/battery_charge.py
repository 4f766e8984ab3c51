"""What holds a pack back from charging: thresholds, behaviour, way of charging, and the reason.

Kernel path: `sys/class/power_supply/*` with `charge_control_start_threshold`,
`charge_control_end_threshold`, `charge_behaviour`, `charge_types` (Documentation/ABI/testing/
sysfs-class-power). On mains the kernel itself calls a pack that takes nothing Not charging
(acpi_battery_handle_discharging, drivers/acpi/battery.c).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.bracketed import parse_chosen
from closeout.decode.numerals import parse_whole
from closeout.decode.sensor_dummies import Quantity
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.adapter import read_feeding
from closeout.readers.attributes import understand
from closeout.readers.measurement import leave_out_dummies
from closeout.readers.power_supply import Tell, leave_out_unknown

PERCENT: Final = range(101)
LEVEL: Final = "a whole number from 0 to 100"
ONE_IN_BRACKETS: Final = "words, the one in force in brackets"
AT_REST: Final = "Not charging"
EMPTYING: Final = "Discharging"
BY_ITSELF: Final = "auto"
MILLICELSIUS_OF_TENTH: Final = 100
UNEXPLAINED: Final = (
    "no limit explains it: the firmware holds it, for its temperature, the adapter's power, or"
    " because it is another pack's turn"
)


@frozen
class ChargeControl:
    """What is asked of the charging of a pack, and why it takes nothing now."""

    start: Reading[int]
    end: Reading[int]
    behaviour: Reading[str]
    way: Reading[str]
    held: Reading[str]


def read_charge_control(tree: KernelTree, tell: Tell) -> ChargeControl:
    """The settings of a pack that answers to `tell`."""
    start = _read_percent(tell, "charge_control_start_threshold")
    end = _read_percent(tell, "charge_control_end_threshold")
    behaviour = understand(tell("charge_behaviour"), ONE_IN_BRACKETS, parse_chosen)
    way = understand(tell("charge_types"), ONE_IN_BRACKETS, parse_chosen)
    if isinstance(way, Absent):
        way = leave_out_unknown(tell("charge_type"))
    return ChargeControl(
        start=start,
        end=end,
        behaviour=behaviour,
        way=way,
        held=_explain_held(tree, tell, (start, end), behaviour),
    )


def read_cell_heat(tell: Tell) -> Reading[int]:
    """The temperature of the cells; the kernel gives tenths of a degree."""
    tenths = understand(tell("temp"), "a whole number", parse_whole)
    heat = convert(tenths, lambda number: number * MILLICELSIUS_OF_TENTH)
    return leave_out_dummies(heat, Quantity.TEMPERATURE)


def _read_percent(tell: Tell, name: str) -> Reading[int]:
    return understand(tell(name), LEVEL, _parse_percent)


def _parse_percent(text: str) -> int | None:
    number = parse_whole(text)
    return number if number in PERCENT else None


def _explain_held(
    tree: KernelTree,
    tell: Tell,
    thresholds: tuple[Reading[int], Reading[int]],
    behaviour: Reading[str],
) -> Reading[str]:
    """The reason; absent where the pack is charging, full, or nothing feeds the unit."""
    status = leave_out_unknown(tell("status"))
    if not isinstance(status, Value):
        return status
    if status.value not in {AT_REST, EMPTYING}:
        return Absent(reason=f"the pack is {status.value}", sources=status.sources)
    feeding = read_feeding(tree)
    if not isinstance(feeding, Value):
        return feeding
    level = _read_percent(tell, "capacity")
    told = (status, feeding, level, *thresholds, behaviour)
    sources = tuple(source for reading in told for source in reading.sources)
    if not feeding.value:
        return Absent(reason="no adapter feeds the unit", sources=sources)
    return Value(value=_word_held(behaviour, level, *thresholds), sources=sources)


def _word_held(
    behaviour: Reading[str], level: Reading[int], start: Reading[int], end: Reading[int]
) -> str:
    if isinstance(behaviour, Value) and behaviour.value != BY_ITSELF:
        return f"the system asks for it: {behaviour.value}"
    if isinstance(level, Value):
        if isinstance(end, Value) and level.value >= end.value:
            return f"at {level.value} % it has reached its limit of {end.value} %"
        if isinstance(start, Value) and level.value >= start.value:
            return f"at {level.value} % it is not below {start.value} %, where charging begins"
    return UNEXPLAINED
