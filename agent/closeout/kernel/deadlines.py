"""How long each question may take before the run goes on without its answer."""

from __future__ import annotations

import re
from typing import Final

from closeout.kernel.record import Kind, Question
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

RUN_SECONDS: Final = 60.0
"""For all readings of a run together; a person stands beside the unit and waits."""

FILE_SECONDS: Final = 3.0
"""For what the table does not name: the first open may have to wake a suspended device, up to
0.3 s (from memory), with room for ten."""

ASK_SECONDS: Final = 20.0
"""For what is no file: a scan for networks takes 2 to 5 s, more on slow channels (from memory)."""


@frozen
class Budget:
    """Seconds for a question whose path or words the pattern is found in, and why so many."""

    pattern: re.Pattern[str]
    seconds: float
    why: str


BUDGETS: Final = (
    Budget(
        pattern=late_pattern(r"^names (pci|usb) "),
        seconds=3.0,
        why="a file of 1.5 MB on the disk or stick that the system runs from",
    ),
    Budget(
        pattern=late_pattern(r"^net permanent-address |^bluetooth address |^nl80211 regulatory$"),
        seconds=5.0,
        why="waits for the lock of all network devices, which a driver may hold while it loads"
        " firmware (rtnl_lock, net/core/rtnetlink.c)",
    ),
    Budget(
        pattern=late_pattern(r"^kernel log$"),
        seconds=10.0,
        why="a read for each record, some ten thousand in the largest buffer that is usual",
    ),
    Budget(
        pattern=late_pattern(r"^clock tick rtc|(^|/)rtc[0-9]+/"),
        seconds=5.0,
        why="waits up to 1.5 s for the second to change; a chip may be busy updating for some ms",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)power_supply/|^psutil sensors_battery$"),
        seconds=5.0,
        why="runs firmware code that asks the embedded controller; one transaction may wait"
        " 0.5 s (ec_delay, drivers/acpi/ec.c) and one reading can need many",
    ),
    Budget(
        pattern=late_pattern(r"^(nvme smart-log|opal status) "),
        seconds=10.0,
        why="one admin command to the drive, 1 to 10 ms (from memory); its own time limit is 60 s"
        " (admin_timeout, drivers/nvme/host/core.c)",
    ),
    Budget(
        pattern=late_pattern(r"^ata "),
        seconds=15.0,
        why="two commands of 10 ms to 1 s each (from memory), and a disk that is just waking"
        " answers when it has spun up",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)nvme(/|[0-9]).*/hwmon|(^|/)nvme/"),
        seconds=10.0,
        why="a temperature is a Get Log Page to the drive, whose own time limit is 60 s"
        " (admin_timeout, drivers/nvme/host/core.c)",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)(scsi_device|ata_port|ata_device|block/sd[a-z]+)(/|$)"),
        seconds=15.0,
        why="a sleeping disk may have to spin up",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)tpm(/|rm?[0-9]|[0-9])"),
        seconds=10.0,
        why="commands are classed by the driver as short 20 ms to long 2 s"
        " (drivers/char/tpm/tpm2-cmd.c), with room for several",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)efivars/"),
        seconds=5.0,
        why="efivarfs makes readers without rights wait in steps of 50 ms (fs/efivarfs/file.c)",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)drm/.*/edid$"),
        seconds=2.0,
        why="a copy that the driver keeps; only a probe under way holds it up, 20 to 200 ms",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)(iio:device[0-9]+|bus/iio)(/|$)"),
        seconds=7.0,
        why="a sensor hub that sleeps is woken by reading and given 5 s to answer"
        " (sensor_hub_input_attr_get_raw_value, drivers/hid/hid-sensor-hub.c)",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)(thermal_zone[0-9]+|PNP0C0B:[0-9a-f]+)(/|$)|fan_speed_rpm$"),
        seconds=5.0,
        why="runs firmware code that asks the embedded controller, as a pack does",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)proc/asound/.*/codec#"),
        seconds=5.0,
        why="wakes the codec and asks each of its nodes over the link (sound/pci/hda/hda_proc.c);"
        " the figure is common practice",
    ),
    Budget(
        pattern=late_pattern(r"^input switches event"),
        seconds=3.0,
        why="the kernel answers out of memory; only opening may wake a device",
    ),
    Budget(
        pattern=late_pattern(r"(^|/)hwmon[0-9]*/"),
        seconds=3.0,
        why="some notebooks answer for their fans through firmware in about 0.5 s"
        " (dell-smm-hwmon, drivers/hwmon)",
    ),
)
"""The first that fits counts. Where no kernel file is named the figure is common practice."""


def budget_seconds(question: Question) -> float:
    """How many seconds a question may take."""
    for budget in BUDGETS:
        if budget.pattern.search(question.text):
            return budget.seconds
    return ASK_SECONDS if question.kind is Kind.ASK else FILE_SECONDS
