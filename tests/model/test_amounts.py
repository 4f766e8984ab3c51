"""Numbers in the units people read, cut and never rounded up."""

import pytest

from closeout.model.amounts import show_value


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (45_000_000, "µWh", "45 Wh"),
        (59_999_999, "µWh", "59.99 Wh (59999999 µWh)"),
        (-1_500_000, "µAh", "-1.50 Ah (-1500000 µAh)"),
        (16 << 30, "B", "16 GiB"),
        (512 << 20, "B", "512 MiB"),
        (512, "B", "512 B"),
        (1_500, "B", "1.46 KiB (1500 B)"),
        (0, "µWh", "0 Wh"),
        (60_000, "mHz", "60 Hz"),
        (7, "", "7"),
        (91, "%", "91 %"),
        (True, "", "yes"),
        (False, "", "no"),
        ((), "", "none"),
        (("a", "b"), "", "a, b"),
        ("text", "", "text"),
    ],
)
def test_a_value_reads_well(value: object, unit: str, shown: str) -> None:
    assert show_value(value, unit) == shown
