"""The first program of a unit that was started from the stick; it never ends by itself.

Screen first, then drivers, then what is on the stick; then one session after the other.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final, NoReturn

from closeout.media.shared import AGENT, LEAD, LEAD_FILE, ORDERS, PROFILES, REPORTS, STATION
from closeout.media.stick import machine, words
from closeout.media.stick.consoles import Consoles, live_consoles
from closeout.media.stick.door import LiveDoor
from closeout.media.stick.find import Volume
from closeout.media.stick.program import BUILT_IN, PLACE, lay_out_program
from closeout.media.stick.relay import Relay
from closeout.media.stick.system import power_off, take_the_three_keys
from closeout.media.stick.taking import NOTHING, Taken, take_from, volume_id_in, wait_for_stick
from closeout.model.frozen import frozen, replace

OURS: Final = Path("/run/closeout")
OUR_ORDERS: Final = OURS / ORDERS
OUR_REPORTS: Final = OURS / REPORTS
OUR_STATION: Final = OURS / STATION
OUR_LEAD: Final = OURS / LEAD
COMMAND_LINE: Final = Path("/proc/cmdline")
PAUSE: Final = 1.0
TRIAL_SECONDS: Final = 60


@frozen
class Started:
    """What the sessions run with: where the agent is imported from, and whose stick it was.

    `station` is the folder of the station that seals, `lead` the record of who signs the profiles.
    """

    imports: Path
    volume_id: str
    station: Path | None = None
    lead: Path | None = None

    @property
    def command(self) -> tuple[str, ...]:
        """The session."""
        guide = ("-m", "closeout", "guide", "--keep")
        return (sys.executable, *guide, "--orders", str(OUR_ORDERS), "--out", str(OUR_REPORTS))

    @property
    def environment(self) -> dict[str, str]:
        """Nothing of ours but what the session needs."""
        named = {"CLOSEOUT_STATION_KEY": self.station, "CLOSEOUT_LEAD": self.lead}
        trusted = {name: str(place) for name, place in named.items() if place}
        return {
            **machine.ENVIRONMENT,
            **trusted,
            "PYTHONPATH": str(self.imports),
            "PYTHONUTF8": "1",
            "LANG": "C.UTF-8",
            "HOME": "/root",
            "TERM": "linux",
            "CLOSEOUT_STICK": self.volume_id,
            "CLOSEOUT_STICK_VOLUME": self.volume_id,
        }


def run() -> NoReturn:
    """Everything, for ever; an error of ours is said and gone past."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    consoles = Consoles(())
    started = Started(imports=BUILT_IN / "agent", volume_id="")
    try:
        machine.mount_all(lambda _: None)
        consoles = live_consoles()
        started = _start(consoles)
    except Exception as error:  # noqa: BLE001 - whatever it is, the unit must get its session
        consoles.say(words.WENT_WRONG.format(_named(error)))
    while True:
        try:
            _hold_session(consoles, started)
        except Exception as error:  # noqa: BLE001 - the first program must not end
            consoles.say(words.WENT_WRONG.format(_named(error)))
        time.sleep(PAUSE)


def _start(consoles: Consoles) -> Started:
    for line in words.FIRST_SCREEN:
        consoles.say(line)
    take_the_three_keys()
    machine.start_devices(consoles.say)
    consoles.fit_to_screens()
    machine.mount_firmware_variables(consoles.say)
    volume_id = volume_id_in(COMMAND_LINE.read_text("ascii", "replace"))
    taken = _take(volume_id, consoles)
    for folder in (OUR_ORDERS, OUR_REPORTS):
        folder.mkdir(parents=True, exist_ok=True)
    for name, content in taken.orders.items():
        (OUR_ORDERS / name).write_bytes(content)
    imports = lay_out_program(BUILT_IN, taken.agent, taken.profiles, PLACE)
    station = _lay_out(taken.station, OUR_STATION)
    lead = _lay_out(taken.lead, OUR_LEAD)
    started = Started(
        imports=imports,
        volume_id=volume_id,
        station=station,
        lead=lead / LEAD_FILE if lead else None,
    )
    if taken.agent and not _runs(started):
        consoles.say("agent/ on the stick does not start here; the built-in agent is used.")
        started = replace(started, imports=BUILT_IN / "agent")
    consoles.say("")
    return started


def _lay_out(files: Mapping[str, bytes], folder: Path) -> Path | None:
    """In memory, where nobody but us can read them; None where there are none."""
    if not files:
        return None
    folder.mkdir(mode=0o700, exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return folder


def _take(volume_id: str, consoles: Consoles) -> Taken:
    """What is on the stick, and the word that it may be pulled."""
    if not volume_id:
        consoles.say(words.READY_WITHOUT)
        return NOTHING
    door = LiveDoor()
    stick = wait_for_stick(volume_id, door)
    if isinstance(stick, Volume):
        taken = take_from(stick, door, consoles.say)
        for what, files in ((AGENT, taken.agent), (PROFILES, taken.profiles)):
            if files:
                consoles.say(words.TAKEN.format(what, len(files)))
        consoles.say(words.READY)
        return taken
    consoles.say(f"No orders, profiles or agent are taken off a stick: {stick.why}.")
    consoles.say(words.READY)
    return NOTHING


def _runs(started: Started) -> bool:
    """Whether an agent off the stick starts at all."""
    try:
        tried = subprocess.run(
            (sys.executable, "-m", "closeout", "guide", "--help"),
            env=started.environment,
            capture_output=True,
            timeout=TRIAL_SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return tried.returncode == 0


def _hold_session(consoles: Consoles, started: Started) -> None:
    with suppress(OSError):
        os.chdir(OURS)
    ending = Relay(consoles, started.command, started.environment).serve()
    if ending == 0:
        consoles.say(words.SWITCHING_OFF)
        power_off()
        consoles.say(words.OFF_BY_HAND)
        return
    consoles.say(words.ENDED.format(f"code {ending}" if ending > 0 else f"signal {-ending}"))


def _named(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"
