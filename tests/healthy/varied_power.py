"""Charge, adapter, heat and fan: what differs from one hour to the next.

Words of `status`: drivers/power/supply/power_supply_sysfs.c.
"""

import json
from typing import Final

from closeout.kernel.record import Kind, Question
from healthy.shown_unit import Change, NotShownError, ShownUnit, says, together, with_answers
from healthy.variation import Variation, vary

PACK: Final = "sys/class/power_supply/BAT0"
ADAPTER: Final = "sys/class/power_supply/AC0"
ZONE: Final = "sys/devices/virtual/thermal/thermal_zone0"
FAN: Final = "sys/devices/platform/PNP0C0B:00"
NO_LIMIT: Final = -2
"""psutil's POWER_TIME_UNLIMITED."""


def charged(percent: int, status: str, *, level: str = "Normal", plugged: bool = True) -> Change:
    """A pack with so much in it; psutil, asked at the same time, says the same."""

    def change(unit: ShownUnit) -> ShownUnit:
        full = unit.answers.get(Question(Kind.READ, _energy_full(unit)))
        if not isinstance(full, bytes):
            raise NotShownError("energy_full")
        energy = int(full) * percent // 100
        return together(
            says(f"{PACK}/capacity", str(percent)),
            says(f"{PACK}/capacity_level", level),
            says(f"{PACK}/energy_now", str(energy)),
            says(f"{PACK}/status", status),
            supplied(percent, plugged=plugged),
        )(unit)

    return change


def supplied(percent: int, *, plugged: bool) -> Change:
    """The adapter in or out, told by its own file and by psutil."""
    opinion = {"percent": float(percent), "power_plugged": plugged}
    seconds = NO_LIMIT if plugged else 9000
    raw = json.dumps({**opinion, "secsleft": seconds}, sort_keys=True).encode()

    def change(unit: ShownUnit) -> ShownUnit:
        asked = with_answers(unit, {Question(Kind.ASK, "psutil sensors_battery"): raw})
        return says(f"{ADAPTER}/online", "1" if plugged else "0")(asked)

    return change


def _energy_full(unit: ShownUnit) -> str:
    place = unit.answers.get(Question(Kind.TARGET, PACK))
    return f"{place}/energy_full"


def warm(celsius: int) -> Change:
    """The zone of the firmware, and psutil's word for it."""
    key = Question(Kind.ASK, "psutil sensors_temperatures")

    def change(unit: ShownUnit) -> ShownUnit:
        answer = unit.answers.get(key)
        if not isinstance(answer, bytes):
            raise NotShownError(key.text)
        told = json.loads(answer)
        told["acpitz"] = [{"current": float(celsius), "label": ""}]
        raw = json.dumps(told, sort_keys=True).encode()
        return says(f"{ZONE}/temp", str(celsius * 1000))(with_answers(unit, {key: raw}))

    return change


def turning(rpm: int, state: int) -> Change:
    """The fan at a speed, in one of its states."""
    raw = json.dumps({"acpi_fan": [{"current": rpm, "label": ""}]}).encode()

    def change(unit: ShownUnit) -> ShownUnit:
        asked = with_answers(unit, {Question(Kind.ASK, "psutil sensors_fans"): raw})
        return together(
            says(f"{FAN}/hwmon/hwmon3/fan1_input", str(rpm)),
            says(f"{FAN}/hwmon/hwmon3/fan1_target", str(rpm)),
            says(f"{FAN}/thermal_cooling/cur_state", str(state)),
        )(asked)

    return change


VARIATIONS: Final[tuple[Variation, ...]] = (
    vary("pack at 5 %", charged(5, "Charging", level="Critical"), "charge"),
    vary("pack at 50 % and charging", charged(50, "Charging"), "charge"),
    vary("pack full", charged(100, "Full", level="Full"), "charge"),
    vary("pack full and not charging", charged(100, "Not charging", level="Full"), "charge"),
    vary("pack held between its limits, 77 %", charged(77, "Not charging"), "charge"),
    vary("pack empty on the adapter", charged(0, "Charging", level="Critical"), "charge"),
    vary("on the pack, adapter out", charged(61, "Discharging", plugged=False), "charge"),
    vary(
        "on the pack, nearly empty",
        charged(6, "Discharging", level="Low", plugged=False),
        "charge",
    ),
    vary("state of the pack not known", says(f"{PACK}/status", "Unknown"), "charge"),
    vary(
        "charge limits taken off",
        together(
            says(f"{PACK}/charge_control_start_threshold", "0"),
            says(f"{PACK}/charge_control_end_threshold", "100"),
        ),
    ),
    vary("pack without a count of cycles", says(f"{PACK}/cycle_count", "0")),
    vary("pack worn to 61 %", says(f"{PACK}/energy_full", "31720000"), "charge"),
    vary("pack new, above its design", says(f"{PACK}/energy_full", "52900000"), "charge"),
    vary("warm, 70 °C", together(warm(70), turning(4100, 2)), "heat"),
    vary("cool, fan at rest", together(warm(31), turning(0, 0)), "heat"),
    vary("cold from the van, 4 °C", together(warm(4), turning(0, 0)), "heat"),
)
