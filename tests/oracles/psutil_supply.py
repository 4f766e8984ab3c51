"""What psutil says of a power_supply class that lies in a folder (`psutil.sensors_battery`)."""

from pathlib import Path

import psutil
import pytest


def battery_percent(folder: Path) -> float:
    """How full psutil calls the first pack of the class in `folder`."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("psutil._pslinux.POWER_SUPPLY_PATH", str(folder))
        found = psutil.sensors_battery()
    assert found is not None
    return float(found.percent)
