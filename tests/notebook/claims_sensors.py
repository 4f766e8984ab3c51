"""What udevadm, sensors and psutil say of heat, fans and sensors, beside what is shown."""

import json
import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, Final

from notebook.opinions import ToolOutput
from notebook.parsed_udev import attributes_by_place
from notebook.shown import Claim, Shown

WALK: Final = "udevadm-measured"
CHIP: Final = re.compile(r"hwmon\d+")
ZONE: Final = re.compile(r"thermal_zone\d+")
COOLING: Final = re.compile(r"cooling_device\d+")
IIO: Final = re.compile(r"iio:device\d+")
COPIES: Final = re.compile(r"/(thermal|power_supply)/")
ALARMS: Final = ("alarm", "max_alarm", "crit_alarm", "emergency_alarm", "min_alarm")

Attributes = Mapping[str, str]


def udevadm_chip_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every channel of a chip that is no copy of a zone or a pack, and every zone."""
    walked = attributes_by_place(outputs[WALK])
    chips = {
        place: attributes
        for place, attributes in walked.items()
        if CHIP.fullmatch(attributes[""]) and not COPIES.search(place)
    }
    zones = [one for one in walked.values() if ZONE.fullmatch(one[""])]
    heat = [*_labels(chips, "temp"), *(zone[""] for zone in zones)]
    yield shown.which(WALK, "temperature", heat)
    yield shown.which(WALK, "fan", _labels(chips, "fan"))
    for place, attributes in chips.items():
        for channel in _channels(attributes, "temp"):
            device = shown.device("temperature", f"{attributes['name']} {channel}")
            yield from device.claims(WALK, _heat(place, attributes, channel))
        for channel in _channels(attributes, "fan"):
            device = shown.device("fan", f"{attributes['name']} {channel}")
            yield from device.claims(WALK, _speed(place, attributes, channel, walked))
    for zone in zones:
        yield from shown.device("temperature", zone[""]).claims(WALK, _zone(zone))


def udevadm_iio_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every accelerometer, light sensor and proximity sensor; no machine here has a hinge's."""
    walked = attributes_by_place(outputs[WALK])
    sensors = [one for one in walked.values() if IIO.fullmatch(one[""])]
    tilts = [one for one in sensors if "in_accel_x_raw" in one]
    lights = [one for one in sensors if _light_file(one)]
    near = [one for one in sensors if "in_proximity_raw" in one]
    yield shown.which(WALK, "accelerometer", [one["name"] for one in tilts])
    yield shown.which(WALK, "light_sensor", [one["name"] for one in lights])
    yield shown.which(WALK, "proximity_sensor", [one["name"] for one in near])
    yield shown.which(WALK, "hinge_angle", [])
    for one in tilts:
        yield from shown.device("accelerometer", one["name"]).claims(WALK, _tilt(one))
    for one in lights:
        value = Fraction(one[_light_file(one)])
        told: dict[str, object] = {**_seat(one), "illuminance_millilux": round(value * 1000)}
        yield from shown.device("light_sensor", one["name"]).claims(WALK, told)
    for one in near:
        told = {**_seat(one), "level": int(one["in_proximity_raw"])}
        told |= {"near_level": None, "distance_millimetres": None}
        yield from shown.device("proximity_sensor", one["name"]).claims(WALK, told)


def sensors_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every channel of a chip, in degrees and revolutions a minute (lm-sensors)."""
    tool = "sensors"
    for name, features in _json_of(outputs[tool]).items():
        chip = name.split("-")[0]
        for readings in features.values():
            for part, value in readings.items() if isinstance(readings, dict) else ():
                channel, _, what = part.partition("_")
                kind = {"temp": "temperature", "fan": "fan"}.get(channel.rstrip("0123456789"))
                if kind is None or what != "input":
                    continue
                told = _told_by_sensors(kind, value)
                label = _zone_label(shown, chip) or f"{chip} {channel}"
                yield from shown.device(kind, label).claims(tool, told)


def psutil_sensor_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Temperatures and fans of each chip, in the order of their channels."""
    tool = "psutil"
    told: dict[str, Any] = json.loads(outputs[tool].text)
    for key, kind in (("temperatures", "temperature"), ("fans", "fan")):
        for chip, sensors in told[key].items():
            ours = [one for one in shown.devices(kind) if one.values.get("chip") == chip]
            for index, (_, current) in enumerate(sensors):
                device = ours[index] if index < len(ours) else shown.device(kind, chip)
                yield from device.claims(tool, _told_by_sensors(kind, current))


def _json_of(output: ToolOutput) -> dict[str, dict[str, Any]]:
    """The object; errors of single values, which the tool prints before it, are left out."""
    found: dict[str, dict[str, Any]] = json.loads(output.text[output.text.index("{") :])
    return found


def _told_by_sensors(kind: str, value: float) -> dict[str, object]:
    if kind == "fan":
        return {"speed_rpm": round(value)}
    return {"now_millicelsius": round(Fraction(value) * 1000)}


def _zone_label(shown: Shown, chip: str) -> str | None:
    """The zone that a chip is the copy of."""
    zones = [one for one in shown.devices("temperature") if one.values.get("channel") == "zone"]
    return next((zone.label for zone in zones if zone.values.get("chip") == chip), None)


def _labels(chips: Mapping[str, Attributes], sort: str) -> list[str]:
    return [
        f"{attributes['name']} {channel}"
        for attributes in chips.values()
        for channel in _channels(attributes, sort)
    ]


def _channels(attributes: Attributes, sort: str) -> list[str]:
    form = re.compile(rf"({sort}\d+)_input")
    return [found[1] for name in attributes if (found := form.fullmatch(name))]


def _owner(place: str) -> str:
    return place.rpartition("/")[0].removesuffix("/hwmon").rpartition("/")[2]


def _whole(attributes: Attributes, name: str) -> int | None:
    return int(attributes[name]) if name in attributes else None


def _limit(attributes: Attributes, name: str) -> int | None:
    return _whole(attributes, name) or None


def _flag(attributes: Attributes, names: list[str]) -> bool | None:
    told = [attributes[name] == "1" for name in names if name in attributes]
    return any(told) if told else None


def _channel(place: str, attributes: Attributes, channel: str) -> dict[str, object]:
    return {
        "chip": attributes["name"],
        "channel": channel,
        "sensor": attributes.get(f"{channel}_label", channel),
        "belongs_to": _owner(place),
        "alarm": _flag(attributes, [f"{channel}_{alarm}" for alarm in ALARMS]),
        "fault": _flag(attributes, [f"{channel}_fault"]),
    }


def _heat(place: str, attributes: Attributes, channel: str) -> dict[str, object]:
    return {
        **_channel(place, attributes, channel),
        "now_millicelsius": _whole(attributes, f"{channel}_input"),
        "max_millicelsius": _limit(attributes, f"{channel}_max"),
        "critical_millicelsius": _limit(attributes, f"{channel}_crit"),
    }


def _speed(
    place: str, attributes: Attributes, channel: str, walked: Mapping[str, Attributes]
) -> dict[str, object]:
    cooling = [one for one in walked.values() if COOLING.fullmatch(one[""])]
    fans = [one for one in cooling if one.get("type") == "Fan"]
    (steps,) = fans if attributes["name"] == "acpi_fan" else ({},)
    return {
        **_channel(place, attributes, channel),
        "speed_rpm": _whole(attributes, f"{channel}_input"),
        "target_rpm": _limit(attributes, f"{channel}_target"),
        "min_rpm": _limit(attributes, f"{channel}_min"),
        "max_rpm": _limit(attributes, f"{channel}_max"),
        "cooling_step": _whole(steps, "cur_state"),
        "most_cooling_steps": _whole(steps, "max_state"),
    }


def _zone(zone: Attributes) -> dict[str, object]:
    critical = [name for name, told in zone.items() if told == "critical"]
    trip = critical[0].removesuffix("_type") if critical else ""
    return {
        "chip": zone["type"],
        "channel": "zone",
        "sensor": zone["type"],
        "now_millicelsius": int(zone["temp"]),
        "critical_millicelsius": _limit(zone, f"{trip}_temp"),
    }


def _light_file(sensor: Attributes) -> str:
    files = ("in_illuminance_input", "in_illuminance_raw")
    return next((name for name in files if name in sensor), "")


def _seat(sensor: Attributes) -> dict[str, object]:
    return {"sensor": sensor["name"], "seat": sensor.get("label")}


def _axis(sensor: Attributes, channel: str) -> int:
    """mm/s²; the scale is the axis's own or that of all three."""
    scale = sensor.get(f"{channel}_scale") or sensor["in_accel_scale"]
    return round(int(sensor[f"{channel}_raw"]) * Fraction(scale) * 1000)


def _tilt(sensor: Attributes) -> dict[str, object]:
    axes = [_axis(sensor, f"in_accel_{axis}") for axis in "xyz"]
    squares = sum(axis * axis for axis in axes)
    magnitude = next(length for length in range(100_000) if (length + 1) ** 2 > squares)
    matrix = sensor.get("in_mount_matrix") or sensor.get("in_accel_mount_matrix")
    return {
        **_seat(sensor),
        **{f"{axis}_mm_s2": value for axis, value in zip("xyz", axes, strict=True)},
        "magnitude_mm_s2": magnitude,
        "mount_matrix": matrix or sensor.get("mount_matrix"),
    }
