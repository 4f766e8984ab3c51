"""The first program on a real kernel: what it takes off the stick, and that nothing ends it."""

import json
from pathlib import Path

import pytest

from closeout.expect.shipped import shipped_folder
from closeout.media.update import with_list
from media.stick_boot import Setup, started_from_stick, stick_arguments
from media.stick_image import VOLUME_ID, make_stick
from notebook.description import load_notebook
from notebook.image import Image

pytestmark = [
    pytest.mark.notebook,
    pytest.mark.slow,
    pytest.mark.thorough,
    pytest.mark.xdist_group("stick-first"),
]

ORDER = (Path(__file__).parent.parent / "notebook/work-orders/osier-15.toml").read_bytes()
NUMBER = next(
    line.split('"')[1] for line in ORDER.decode().splitlines() if line.startswith("order = ")
)
NEWER = b'set = 1\nversion = "2026.77"\n'
KILL = "kill -9 $(ps ax -o pid,args | grep '[c]loseout guide' | cut -c1-8)"
REPORTS = "cat /run/closeout/reports/*/attempt-*/report.json"


@pytest.fixture(scope="module")
def stick(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An order, newer profiles with their list, and an agent whose list does not hold."""
    agent = {
        **with_list({"closeout/__init__.py": b"VERSION = '9'\n"}),
        "closeout/__init__.py": b"?",
    }
    files = {
        f"orders/{NUMBER}.toml": ORDER,
        **{f"profiles/{name}": raw for name, raw in with_list({"set.toml": NEWER}).items()},
        **{f"agent/{name}": raw for name, raw in agent.items()},
    }
    return make_stick(tmp_path_factory.mktemp("first") / "stick.img", files)


def test_pulled_after_ready_killed_and_put_in_again(  # noqa: PLR0915 - one start for all of it
    image: Image, stick: Path
) -> None:
    """The report of a session that was killed is kept by the next."""
    assert (shipped_folder("profiles") / "set.toml").read_bytes() != NEWER
    setup = Setup(kernel_options=f"closeout.stick={VOLUME_ID}", arguments=stick_arguments(stick))
    with started_from_stick(load_notebook("osier-15"), image, setup) as run:
        console, shell = run.console, run.session.run
        console.wait_for("The unit's own disk will not be opened for writing.")
        console.wait_for("is not as it was written")
        console.wait_for("profiles: taken from the stick in place of what is built in, files: 1")
        console.wait_for("ready: the stick may be pulled")
        assert "/run/closeout/stick" not in shell("cat", "/proc/mounts").text
        run.orders.give("device_del", id="stick")
        console.answer("Scan the order: ", NUMBER)
        for prompt in ("Scan the unit's label: ", "Scan your code: "):
            console.answer(prompt, "")
        console.answer("Your code (Enter = no questions): ", "")
        console.wait_for("Not kept on a stick: 1 report is in memory.")
        console.wait_for("What now? ")
        report = json.loads(shell("sh", "-c", REPORTS).text)
        assert report["circumstances"]["order"] == NUMBER
        assert "2026.77" in json.dumps(report["circumstances"])
        shell("sh", "-c", KILL)
        console.wait_for("The session has ended (signal 9) and is started again")
        console.wait_for("Not kept on a stick: 1 report is in memory.")
        console.wait_for("Scan the order: ")
        run.orders.give(
            "device_add",
            driver="usb-storage",
            id="again",
            bus="stick-port.0",
            drive="stick-raw",
            removable=True,
        )
        shell("sh", "-c", "until ls /sys/class/block | grep -q 'sd[b-z]1'; do sleep 0.5; done")
        shell("sh", "-c", KILL)
        console.wait_for(f"Kept on the stick {VOLUME_ID}: reports/{NUMBER}-attempt-0001-")
        assert shell("sh", "-c", "cat /proc/1/cmdline").text.startswith(
            "python3\0-m\0closeout.media"
        )
