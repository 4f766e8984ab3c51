"""Every question has a budget, and the slow ones the budget of their kind."""

import pytest

from closeout.kernel.deadlines import BUDGETS, RUN_SECONDS, budget_seconds
from closeout.kernel.record import Kind, Question


@pytest.mark.parametrize(
    ("path", "seconds"),
    [
        ("sys/class/power_supply/BAT0/voltage_now", 5),
        ("sys/devices/LNXSYSTM:00/PNP0C0A:00/power_supply/BAT0/status", 5),
        ("sys/class/nvme/nvme0/serial", 10),
        ("sys/devices/pci0000:00/0000:00:1d.0/nvme/nvme0/hwmon1/temp1_input", 10),
        ("sys/class/hwmon/hwmon3/fan1_input", 3),
        ("sys/devices/pci0000:00/0000:00:13.0/iio:device2/in_accel_x_raw", 7),
        ("sys/bus/iio/devices/iio:device2", 7),
        ("sys/devices/virtual/thermal/thermal_zone0/temp", 5),
        ("sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0C0B:00/fan_speed_rpm", 5),
        ("sys/devices/platform/TFN1:00/firmware_node/fan_speed_rpm", 5),
        ("sys/class/tpm/tpm0/pcr-sha256/0", 10),
        ("sys/class/drm/card1-eDP-1/edid", 2),
        ("sys/firmware/efi/efivars/SecureBoot-8be4df61-93ca-11d2-aa0d-00e098032b8c", 5),
        ("sys/block/sda/device/vpd_pg80", 15),
        ("sys/class/dmi/id/product_serial", 3),
        ("sys/class/drm/card1-eDP-1/status", 3),
    ],
)
def test_budget_of_a_file(path: str, seconds: float) -> None:
    assert budget_seconds(Question(kind=Kind.READ, text=path)) == seconds


@pytest.mark.parametrize(
    ("question", "seconds"),
    [
        ("names pci 8086:0001", 3),
        ("psutil sensors_battery", 5),
        ("net permanent-address eth0", 5),
        ("nl80211 regulatory", 5),
        ("bluetooth address hci0", 5),
        ("nvme smart-log nvme0", 10),
        ("opal status sda", 10),
        ("ata smart sda", 15),
        ("anything else", 20),
    ],
)
def test_budget_of_what_is_no_file(question: str, seconds: float) -> None:
    assert budget_seconds(Question(kind=Kind.ASK, text=question)) == seconds


def test_listings_have_a_budget_too() -> None:
    assert budget_seconds(Question(kind=Kind.NAMES, text="sys/class/nvme")) == 3


def test_every_budget_fits_into_the_run_and_says_why() -> None:
    for budget in BUDGETS:
        assert 0 < budget.seconds < RUN_SECONDS
        assert budget.why
