"""NVMe health logs: built from the layout, of other sizes, and any bytes."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.nvme_smart import WARNINGS, decode_nvme_smart
from strategies.drive_blocks import NVME_FIELDS, nvme_health_log


@st.composite
def logs(draw: st.DrawFn) -> dict[str, int]:
    told = {
        name: draw(st.integers(0, (1 << 8 * size) - 1)) for name, (_, size) in NVME_FIELDS.items()
    }
    return {**told, "temperature": draw(st.integers(1, 0xFFFE))}


@given(logs())
def test_what_is_built_is_decoded(told: dict[str, int]) -> None:
    health = decode_nvme_smart(nvme_health_log(**told))
    assert health.temperature_kelvin == told["temperature"]
    assert health.available_spare_percent == (told["spare"] if told["spare"] <= 100 else None)
    assert health.spare_threshold_percent == (
        told["threshold"] if told["threshold"] <= 100 else None
    )
    assert len(health.critical_warnings) == told["warning"].bit_count()
    assert health.data_units_read == (told["units_read"] or None)
    assert health.data_units_written == (told["units_written"] or None)
    plain = {
        "used": health.percentage_used,
        "endurance_group": health.endurance_group_summary,
        "reads": health.host_reads,
        "writes": health.host_writes,
        "busy": health.busy_minutes,
        "cycles": health.power_cycles,
        "hours": health.power_on_hours,
        "unsafe": health.unsafe_shutdowns,
        "media_errors": health.media_errors,
        "errors": health.error_entries,
        "warm_minutes": health.warning_temperature_minutes,
        "hot_minutes": health.critical_temperature_minutes,
    }
    assert plain == {name: told[name] for name in plain}
    assert health.sensors_kelvin == tuple(told[f"sensor_{at}"] or None for at in range(1, 9))
    assert health.throttle_counts == (told["throttled_1"], told["throttled_2"])
    assert health.throttle_seconds == (told["seconds_1"], told["seconds_2"])


def test_a_log_as_an_emulated_drive_gave_it() -> None:
    """Seen in a booted kernel beside nvme-cli: 323 K, 3 data units, 51 reads."""
    raw = bytearray(512)
    raw[1:3], raw[32], raw[64] = b"\x43\x01", 3, 0x33
    health = decode_nvme_smart(bytes(raw))
    assert (health.temperature_kelvin, health.data_units_read, health.host_reads) == (323, 3, 51)
    assert health.critical_warnings == ()
    assert health.data_units_written is None


@pytest.mark.parametrize("bit", range(8))
def test_every_bit_of_the_warning_has_words(bit: int) -> None:
    (words,) = decode_nvme_smart(nvme_health_log(warning=1 << bit)).critical_warnings
    assert words == (WARNINGS[bit] if bit < len(WARNINGS) else f"critical warning bit {bit}")


def test_reliability_is_the_bit_that_counts_four() -> None:
    log = nvme_health_log(warning=4)
    assert decode_nvme_smart(log).critical_warnings == ("reliability degraded",)


def test_counters_have_all_their_bits() -> None:
    health = decode_nvme_smart(nvme_health_log(hours=(1 << 128) - 1, used=255))
    assert health.power_on_hours == (1 << 128) - 1
    assert health.percentage_used == 255


@pytest.mark.parametrize("raw", [bytes(512), b"\xff" * 512])
def test_a_log_that_nobody_filled_in_is_none(raw: bytes) -> None:
    with pytest.raises(DecodeError, match="nobody filled it in"):
        decode_nvme_smart(raw)


@given(st.binary(max_size=600))
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_nvme_smart(raw)
        assert len(raw) == 512
