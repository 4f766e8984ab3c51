"""Display connectors with the EDID behind each.

Kernel path: `sys/class/drm/cardN-TYPE-n/{status,edid,modes}` (drivers/gpu/drm/drm_sysfs.c). The
EDID file is the kernel's copy: nothing in it means that no EDID came over the cable, and is no
error.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from closeout.decode.edid import Edid, Maker, decode_edid, name_extension
from closeout.decode.edid_given import Given, NotGiven
from closeout.decode.edid_timing import DetailedTiming
from closeout.decode.failure import DecodeError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.display import Display
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value, combine, convert
from closeout.readers import backlight
from closeout.readers.attributes import (
    list_class,
    read_bytes,
    read_text,
    understand,
)
from closeout.readers.places import label_of, locate
from closeout.readers.reader import Reader

T = TypeVar("T")

DRM: Final = "sys/class/drm"
CONNECTOR: Final = late_pattern(r"card\d+-(?P<name>.+)")
INTERNAL_TYPES: Final = frozenset({"eDP", "LVDS", "DSI"})
CONNECTED: Final = {"connected": True, "disconnected": False}
LAST_WEEK: Final = 54


def find_connectors(tree: KernelTree) -> Listing:
    """The places of all connectors of all cards."""
    listing = list_class(tree, DRM)
    if not isinstance(listing, Value):
        return listing
    connectors = [name for name in listing.value if CONNECTOR.fullmatch(name)]
    places = tuple(locate(tree, f"{DRM}/{name}") for name in connectors)
    return Value(value=places, sources=listing.sources)


def read_connector(tree: KernelTree, place: str) -> Display:
    """One connector with what the EDID behind it says."""
    source = f"{place}/edid"
    edid = read_edid(tree, source)
    connector = name_connector(place)
    native = pick(edid, lambda found: found.native)
    size = pick(edid, _size_millimetres)
    return Display(
        place=place,
        label=connector,
        position=_position(connector),
        connector=Value(value=connector, sources=(place,)),
        connected=understand(
            read_text(tree, f"{place}/status"), "connected or disconnected", CONNECTED.get
        ),
        edid_valid=read_soundness(edid),
        edid_manufacturer=convert(edid, lambda found: found.maker.letters),
        edid_product=convert(edid, lambda found: found.maker.product),
        edid_serial=pick(edid, lambda found: found.maker.serial, Blank),
        edid_serial_texts=pick(edid, _serial_texts, Blank),
        edid_names=pick(edid, _names, Blank),
        edid_extensions=convert(edid, _extensions),
        bits_per_colour=pick(edid, lambda found: found.screen.bits_per_colour),
        native_mode=read_native_mode(tree, place, edid),
        native_mode_offered=read_offer(tree, place, edid),
        refresh_millihertz=convert(native, lambda timing: timing.refresh_millihertz),
        width_millimetres=convert(size, lambda pair: pair[0]),
        height_millimetres=convert(size, lambda pair: pair[1]),
        made=convert(edid, lambda found: _made(found.maker)),
    )


def name_connector(place: str) -> str:
    """The connector's name without the card: `eDP-1`."""
    found = CONNECTOR.fullmatch(label_of(place))
    return found["name"] if found else label_of(place)


def read_edid(tree: KernelTree, source: str) -> Reading[Edid]:
    """The EDID; an empty file is blank, bytes that are no EDID are unreadable."""
    raw = read_bytes(tree, source)
    if not isinstance(raw, Value):
        return raw
    if not raw.value:
        return Blank(reason="no EDID came over the cable", sources=raw.sources)
    try:
        return Value(value=decode_edid(raw.value), sources=raw.sources)
    except DecodeError as failure:
        return Unreadable(
            error="MALFORMED", advice=f"reseat the display cable; {failure}", sources=raw.sources
        )


def read_soundness(edid: Reading[Edid]) -> Reading[bool]:
    """Whether the EDID is there whole and adds up; what is no EDID at all is not."""
    if isinstance(edid, Unreadable) and edid.error == "MALFORMED":
        return Value(value=False, sources=edid.sources)
    return convert(edid, lambda found: found.is_whole and found.is_sound)


def pick(
    reading: Reading[Edid],
    field: Callable[[Edid], Given[T]],
    lacking: type[Absent | Blank] = Absent,
) -> Reading[T]:
    """A field of the EDID; `lacking` is what it is where the EDID leaves it open."""
    if not isinstance(reading, Value):
        return reading
    found = field(reading.value)
    if isinstance(found, NotGiven):
        return lacking(reason=found.reason, sources=reading.sources)
    return Value(value=found, sources=reading.sources)


def read_native_mode(tree: KernelTree, place: str, edid: Reading[Edid]) -> Reading[str]:
    """The preferred mode of the EDID, in the first block or in an extension.

    Where no block of it gives a mode, it is the first of the kernel's `modes`.
    """
    native = convert(pick(edid, lambda found: found.native), _mode_text)
    if not isinstance(edid, Value) or isinstance(native, Value):
        return native
    modes = read_text(tree, f"{place}/modes")
    names = modes.value.split() if isinstance(modes, Value) else []
    return Value(value=names[0], sources=modes.sources) if names else native


def read_offer(tree: KernelTree, place: str, edid: Reading[Edid]) -> Reading[bool]:
    """Whether the preferred mode of the EDID is among the kernel's.

    A mode is left out that graphics card, cable or connector cannot carry.
    """
    native = convert(pick(edid, lambda found: found.native), _mode_text)
    if not isinstance(native, Value):
        return native if isinstance(native, Unreadable) else convert(native, bool)
    modes = read_text(tree, f"{place}/modes")
    names = Value(value="", sources=modes.sources) if isinstance(modes, Blank) else modes
    return combine(native, names, lambda mode, offered: mode in offered.split())


def _mode_text(timing: DetailedTiming) -> str:
    return f"{timing.width}x{timing.height}{'i' if timing.interlaced else ''}"


def _size_millimetres(edid: Edid) -> Given[tuple[int, int]]:
    """Of the preferred mode, else what DisplayID says, else the screen's in whole centimetres."""
    native = edid.native
    if not isinstance(native, NotGiven):
        exact = native.size_millimetres
        if not isinstance(exact, NotGiven):
            return exact
    for tenths in edid.size_tenths:
        return round(tenths[0] / 10), round(tenths[1] / 10)
    size = edid.screen.size_centimetres
    return size if isinstance(size, NotGiven) else (size[0] * 10, size[1] * 10)


def _extensions(edid: Edid) -> tuple[str, ...]:
    return tuple(name_extension(block.tag) for block in edid.blocks[1:])


def _serial_texts(edid: Edid) -> Given[tuple[str, ...]]:
    return edid.serial_texts or NotGiven(reason="the panel gives no serial number as text")


def _names(edid: Edid) -> Given[tuple[str, ...]]:
    """Names, free texts and what stands behind them, each once and without padding."""
    texts = (text.strip() for text in (*edid.names, *edid.free_texts, *edid.further_texts))
    names = tuple(dict.fromkeys(text for text in texts if text))
    return names or NotGiven(reason="the EDID holds no name and no free text")


def _made(maker: Maker) -> str:
    if maker.is_model_year:
        return f"{maker.year} (model year)"
    week = maker.week
    if isinstance(week, NotGiven) or week > LAST_WEEK:
        return str(maker.year)
    return f"{maker.year}, week {week}"


def _position(connector: str) -> Position:
    kind = connector.rsplit("-", 1)[0]
    return Position.INTERNAL if kind in INTERNAL_TYPES else Position.EXTERNAL


READERS: Final = (
    Reader(kind="display", find=find_connectors, read=read_connector),
    *backlight.READERS,
)
