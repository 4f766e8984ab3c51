"""The clock of a drawn notebook, and that its kernel noticed no trouble."""

from closeout.decode.calendar import seconds_of
from closeout.decode.clock_tick import ClockTick, encode_tick, tick_question
from closeout.decode.kernel_log import QUESTION
from closeout.model.moment import Moment, ReferenceTime
from strategies.drawn_tree import Content
from strategies.kernel_log import answer_of, line

CLOCK = "sys/devices/pnp0/00:04/rtc/rtc0"
REFERENCE = ReferenceTime(
    moment=Moment(text="2026-11-20T09:00:00Z", source="a test"), taken_at_microseconds=60_000_000
)
READ_AFTER = 2
"""Seconds from the reference time until the clock is read."""
ERRORS = {
    "correctable": b"RxErr 0\nBadTLP 0\nTOTAL_ERR_COR 0\n",
    "nonfatal": b"Undefined 0\nDLP 0\nTOTAL_ERR_NONFATAL 0\n",
    "fatal": b"Undefined 0\nDLP 0\nTOTAL_ERR_FATAL 0\n",
}
INTERRUPTS = b"""\
            CPU0       CPU1
 TRM:          0          0   Thermal event interrupts
 THR:          0          0   Threshold APIC interrupts
 DFR:          0          0   Deferred Error APIC interrupts
 MCE:          0          0   Machine check exceptions
 MCP:          3          3   Machine check polls
"""
HARMLESS = "platform regulatory.0: Direct firmware load for regulatory.db failed with error -2"


def draw_time_and_trouble(
    files: dict[str, Content], links: dict[str, str], answers: dict[str, Content], function: str
) -> None:
    """A clock in universal time, and counts of errors at one PCI function, all zero."""
    shown = (seconds_of(REFERENCE.moment.text) or 0) + READ_AFTER
    at = REFERENCE.taken_at_microseconds + READ_AFTER * 1_000_000
    links["sys/class/rtc/rtc0"] = CLOCK
    files[f"{CLOCK}/name"] = b"rtc_cmos 00:04\n"
    files[f"{CLOCK}/since_epoch"] = b"%d\n" % shown
    files[f"{CLOCK}/hctosys"] = b"1\n"
    files["proc/driver/rtc"] = b"rtc_time\t: 09:00:02\nbatt_status\t: okay\n"
    tick = ClockTick(shown=shown, microseconds=at, ticked=True)
    answers[tick_question("rtc0")] = encode_tick(tick)
    for name, counts in ERRORS.items():
        files[f"{function}/aer_dev_{name}"] = counts
    files["sys/devices/system/edac/mc/uevent"] = b""
    files["proc/interrupts"] = INTERRUPTS
    files["proc/mounts"] = b"pstore /sys/fs/pstore pstore rw 0 0\n"
    answers[QUESTION] = answer_of(line(HARMLESS, sequence=0, device="+platform:regulatory.0"))
