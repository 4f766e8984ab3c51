"""Ten real SMBIOS tables as folders, checked by the profile for any notebook.

The verdicts are explained by what dmidecode prints of each dump: a unit is held when its system
maker, product, serial or UUID is blank or filler there, and by nothing else.
"""

import json
from pathlib import Path

import pytest

from closeout.check import ROUNDS
from closeout.kernel.capture import record_folder
from closeout.kernel.folder import answer_name
from closeout.model.finding import Outcome
from closeout.model.verdict import Verdict
from strategies.drive_blocks import nvme_health_log
from strategies.runs import conditions, judge

RELEASED: dict[str, str] = {}
OEM = "To Be Filled By O.E.M."

# what fails, and the words of the text beside the dump that explain it
MACHINES = {
    "desktop-2014": {
        "serial": "Serial Number: To be filled by O.E.M.",
        "uuid": "UUID: Not Present",
    },
    "desktop-no-brand": {
        "manufacturer": f"Manufacturer: {OEM}",
        "product": f"Product Name: {OEM}",
        "serial": f"Serial Number: {OEM}",
    },
    "dual-socket-server": RELEASED,
    "hypervisor-broken-end": RELEASED,
    "mini-pc-2023": RELEASED,
    "notebook-2013": RELEASED,
    "notebook-2014": RELEASED,
    "notebook-2020": RELEASED,
    "thin-notebook-2018": RELEASED,
    "workstation-notebook-2010": RELEASED,
}
PACK = {
    "type": "Battery",
    "present": "1",
    "status": "Full",
    "energy_full_design": "50000000",
    "energy_full": "41000000",
}


def lay_out(dump: Path, data: Path, root: Path) -> None:
    """The dump as the kernel would show it, beside an EDID, a licence table, a pack and a drive."""
    raw = dump.read_bytes()
    with (data / "edid.jsonl").open(encoding="utf-8") as panels:
        panel = json.loads(panels.readline())["hex"]
    files = {
        "sys/firmware/dmi/tables/smbios_entry_point": raw[:24],
        "sys/firmware/dmi/tables/DMI": raw[32:],
        "sys/firmware/acpi/tables/MSDM": (data / "msdm" / "msdm_002.bin").read_bytes(),
        "sys/class/drm/card0-eDP-1/edid": bytes.fromhex(panel),
    }
    files |= {
        "sys/class/nvme/nvme0/state": b"live\n",
        "sys/block/nvme0n1/size": b"1000215216\n",
        f"ask/{answer_name('nvme smart-log nvme0')}": nvme_health_log(),
    }
    files |= {f"sys/class/power_supply/BAT0/{k}": f"{v}\n".encode() for k, v in PACK.items()}
    for name, content in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(content)


def section_of(text: str, title: str) -> str:
    return next(part for part in text.split("\n\n") if f"\n{title}\n" in part)


@pytest.mark.parametrize("name", MACHINES)
def test_every_hold_is_explained_beside_the_dump(
    name: str, test_data: Path, tmp_path: Path
) -> None:
    lay_out(test_data / "smbios" / f"{name}.dump", test_data, tmp_path)
    report = judge(record_folder(tmp_path, ROUNDS, conditions()))
    expected = MACHINES[name]
    assert report.verdict is (Verdict.HOLD if expected else Verdict.RELEASE)
    failed = {
        finding.rule.removeprefix("system.")
        for finding in report.findings
        if finding.weight.value == "must" and finding.outcome is not Outcome.PASS
    }
    assert failed == set(expected)
    text = (test_data / "smbios" / f"{name}.txt").read_text(encoding="utf-8")
    printed = section_of(text, "System Information")
    for words in expected.values():
        assert words in printed


def test_every_dump_is_here(test_data: Path) -> None:
    assert {path.stem for path in (test_data / "smbios").glob("*.dump")} == set(MACHINES)


def test_the_rest_of_each_folder_is_judged_too(test_data: Path, tmp_path: Path) -> None:
    lay_out(test_data / "smbios" / "notebook-2020.dump", test_data, tmp_path)
    report = judge(record_folder(tmp_path, ROUNDS, conditions()))
    outcomes = {finding.rule: finding.outcome for finding in report.findings}
    assert outcomes["battery.health_percent"] is Outcome.PASS
    assert outcomes["display.edid_valid"] is Outcome.PASS
    assert outcomes["licence.checksum_good"] is Outcome.PASS
    assert outcomes["wifi.presence"] is Outcome.UNREAD
