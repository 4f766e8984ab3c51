"""What edid-decode and udevadm say of panel and backlight, beside what is shown."""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_udev import attributes_by_place
from notebook.shown import Claim, Shown
from oracles.edid_decode import ListedEdid, read_listing

NAMES: Final = re.compile(
    r"^ *(?:Alphanumeric Data String|Display Product Name): '(.*)'$", re.MULTILINE
)
POWER: Final = {"0": "on", "4": "off"}
CONNECTOR: Final = re.compile(r"card\d+-(.*)")


def edid_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Everything that the panel's EDID tells."""
    tool = "edid-decode"
    parts = outputs[tool].text.split("# /sys/class/drm/")[1:]
    names = [part.split("/", 1)[0] for part in parts]
    yield shown.which(tool, "display", tuple(map(connector_of, names)))
    for name, part in zip(names, parts, strict=True):
        listing = read_listing(part.partition("----------------")[2])
        yield from shown.device("display", connector_of(name)).claims(tool, _told(listing))


def udevadm_display_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Connectors and backlights as the kernel's files tell them."""
    tool = "udevadm-attributes"
    for place, files in attributes_by_place(outputs[tool]).items():
        if "/drm/" in place:
            connector = connector_of(files[""])
            told: dict[str, object] = {
                "connector": connector,
                "connected": files["status"] == "connected",
                "native_mode": files["modes"].split()[0] if files["modes"] else None,
                "native_mode_offered": bool(files["modes"]),
            }
            yield from shown.device("display", connector).claims(tool, told)
        if "/backlight/" in place:
            told = {
                "control_type": files["type"],
                **{
                    name: int(files[name])
                    for name in ("brightness", "actual_brightness", "max_brightness")
                },
                **_told_of_range(files),
                "power": POWER[files["bl_power"]],
                "scale": files["scale"],
            }
            yield from shown.device("backlight", files[""]).claims(tool, told)


def _told_of_range(files: Mapping[str, str]) -> dict[str, object]:
    level, most = int(files["brightness"]), int(files["max_brightness"])
    inside = level <= most and int(files["actual_brightness"]) <= most
    return {"level_percent": 100 * level // most, "in_range": inside and most > 0}


def connector_of(name: str) -> str:
    """The connector without its card."""
    found = CONNECTOR.fullmatch(name)
    assert found, name
    return found[1]


def _told(listing: ListedEdid) -> dict[str, object]:
    timing = listing.timings[0]
    width, height = timing.millimetres or (None, None)
    year, week, _ = listing.made()
    return {
        "connected": True,
        "edid_valid": all(good for _, good in listing.checksums),
        "edid_manufacturer": listing.value("Manufacturer"),
        "edid_product": int(listing.value("Model") or 0),
        "edid_serial": int(listing.value("Serial Number") or 0) or "",
        "edid_serial_texts": tuple(listing.quoted("Display Product Serial Number")) or "",
        "edid_names": tuple(NAMES.findall(listing.words)),
        "edid_extensions": tuple(listing.block_names[1:]),
        "bits_per_colour": int(listing.value("Bits per primary color channel") or 0) or None,
        "native_mode": f"{timing.width}x{timing.height}",
        "refresh_millihertz": round(timing.hertz * 1000),
        "width_millimetres": width,
        "height_millimetres": height,
        "made": f"{year}, week {week}" if week else str(year),
    }
