"""From power-on to the verdict, split, against a bare boot: `python tests/speed/from_power_on.py`.

A unit in the emulator starts from the stick of this checkout, with the firmware of a unit from the
shop (Secure Boot) and with BIOS. Bare is the same stick, with the same kernel and root, which
starts Python in place of our first program; beside it, the same once a driver is loaded for every
device, without which there is nothing to check. A person costs nothing here: prompts are answered
at once. Figures for people, no gate: the processor is emulated, and some twenty times slower than
one of silicon, while waiting for a stick or a firmware takes as long as it does.
"""

import sys
import tempfile
from pathlib import Path
from typing import Final

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from media.emulated_stick import started, with_shell
from media.real_stick import built_stick
from media.stick_boot import PROMPTS

VERDICTS: Final = ("RELEASE", "HOLD", "UNDECIDED")
STEPS: Final = (
    ("our first screen", "will not be opened for writing"),
    ("everything in memory, the stick may be pulled", "ready: "),
)
PYTHON: Final = "python3 -c 'print(6 * 7)'"
DRIVERS: Final = (
    "PYTHONPATH=/usr/lib/closeout/agent python3 -c 'from closeout.media.stick.machine import"
    " mount_all, start_devices; mount_all(print); start_devices(print)'"
)
MOST: Final = 1.3
WITHIN: Final = 900.0


def power_on_to_verdict(image: Path, folder: Path, firmware: str) -> dict[str, float]:
    """When each step was seen, in seconds since power-on."""
    seen: dict[str, float] = {}
    with started(image, folder, firmware=firmware) as unit:
        for name, words in STEPS:
            unit.wait_for(words, seconds=WITHIN)
            seen[name] = unit.seconds
        for prompt in PROMPTS:
            unit.wait_for(prompt, seconds=WITHIN)
            unit.type("\r")
        unit.wait_for(*VERDICTS, seconds=WITHIN)
        seen["verdict"] = unit.seconds
    return seen


def power_on_to_python(image: Path, folder: Path, firmware: str) -> tuple[float, float]:
    """The bare boot; and the same with drivers, as the first program has them loaded."""
    with started(image, folder, firmware=firmware) as unit:
        unit.wait_for("# ", seconds=WITHIN)
        assert unit.ask(PYTHON) == "42"
        bare = unit.seconds
        assert unit.ask(f"{DRIVERS}; {PYTHON}", seconds=WITHIN).endswith("42")
        return bare, unit.seconds


def main() -> None:
    """Prints the split and the ratio for either firmware."""
    stick = built_stick()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        bare_image = with_shell(stick.image, folder, stick.boot_offset)
        for firmware in sys.argv[1:] or ("secure-boot", "bios"):
            bare, with_drivers = power_on_to_python(bare_image, folder, firmware)
            seen = power_on_to_verdict(stick.image, folder, firmware)
            sys.stdout.write(f"{firmware}: bare boot to Python {bare:.1f} s\n")
            sys.stdout.write(f"    {with_drivers:6.1f} s  the same with drivers\n")
            for name, seconds in seen.items():
                sys.stdout.write(f"    {seconds:6.1f} s  {name}\n")
            ratio = seen["verdict"] / bare
            mark = "ok  " if ratio <= MOST else "OVER"
            sys.stdout.write(f"{mark} {ratio:.2f} x the bare boot, at most {MOST} x\n")
            beside = seen["verdict"] / with_drivers
            sys.stdout.write(f"     {beside:.2f} x the bare boot with drivers\n")


if __name__ == "__main__":
    main()
