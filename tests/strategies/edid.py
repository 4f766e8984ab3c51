"""EDIDs of invented panels, built from a plan, and ways to damage them."""

from dataclasses import dataclass, field

from hypothesis import strategies as st

BLOCK = 128
HEADER = bytes.fromhex("00ffffffffffff00")
UNUSED_STANDARD = b"\x01\x01" * 8
CHROMATICITY = bytes.fromhex("ee91a3544c99260f5054")
"""The primaries of sRGB, as many panels give them."""
SERIAL, TEXT, LIMITS, NAME, DUMMY = 0xFF, 0xFE, 0xFD, 0xFC, 0x10


@dataclass(frozen=True, slots=True, kw_only=True)
class TimingPlan:
    """A detailed timing; of an interlaced one, lines are those of a field."""

    width: int = 1920
    height: int = 1080
    clock_hz: int = 138_500_000
    blank: tuple[int, int] = (160, 31)
    front: tuple[int, int] = (48, 3)
    sync: tuple[int, int] = (32, 5)
    millimetres: tuple[int, int] = (309, 174)
    border: tuple[int, int] = (0, 0)
    interlaced: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class EdidPlan:
    """What an EDID is to say; together at most four timings, names, texts and serial texts."""

    letters: str = "NRW"
    product: int = 0x1234
    serial: int = 1
    week: int = 12
    year: int = 2023
    revision: int = 4
    signal: int = 0xA5
    size_centimetres: tuple[int, int] = (31, 17)
    gamma_hundredths: int = 220
    features: int = 0x02
    established: bytes = b"\0\0\0"
    standard: bytes = UNUSED_STANDARD
    timings: tuple[TimingPlan, ...] = (TimingPlan(),)
    names: tuple[str, ...] = ()
    texts: tuple[str, ...] = ("NORWELL", "P140-01")
    serial_texts: tuple[str, ...] = ()
    extensions: tuple[bytes, ...] = field(default=())


def build_edid(plan: EdidPlan) -> bytes:
    """The EDID's bytes with right sums; an extension is given without its sum and padded."""
    descriptors = [build_timing(timing) for timing in plan.timings]
    descriptors += [build_text(NAME, text) for text in plan.names]
    descriptors += [build_text(TEXT, text) for text in plan.texts]
    descriptors += [build_text(SERIAL, text) for text in plan.serial_texts]
    descriptors += [bytes([0, 0, 0, DUMMY]).ljust(18, b"\0")] * (4 - len(descriptors))
    assert len(descriptors) == 4, "a block has four descriptors"
    block = (
        HEADER
        + _maker(plan)
        + bytes([1, plan.revision, plan.signal, *plan.size_centimetres])
        + bytes([plan.gamma_hundredths - 100, plan.features])
        + CHROMATICITY
        + plan.established
        + plan.standard
        + b"".join(descriptors)
        + bytes([len(plan.extensions)])
    )
    blocks = (block, *(extension.ljust(BLOCK - 1, b"\0") for extension in plan.extensions))
    return b"".join(map(with_sum, blocks))


def with_sum(block: bytes) -> bytes:
    """The 127 bytes and the one that makes their sum zero."""
    return block + bytes([-sum(block) % 256])


def _maker(plan: EdidPlan) -> bytes:
    first, second, third = (ord(letter) - 64 for letter in plan.letters)
    letters = (first << 10 | second << 5 | third).to_bytes(2, "big")
    numbers = plan.product.to_bytes(2, "little") + plan.serial.to_bytes(4, "little")
    return letters + numbers + bytes([plan.week, plan.year - 1990])


def build_timing(timing: TimingPlan) -> bytes:
    """The 18 bytes of a detailed timing."""
    (across, down), (front, porch), (sync, pulse) = timing.blank, timing.front, timing.sync
    wide, high = timing.millimetres
    return (timing.clock_hz // 10_000).to_bytes(2, "little") + bytes(
        [
            timing.width & 255,
            across & 255,
            timing.width >> 8 << 4 | across >> 8,
            timing.height & 255,
            down & 255,
            timing.height >> 8 << 4 | down >> 8,
            front & 255,
            sync & 255,
            (porch & 15) << 4 | pulse & 15,
            front >> 8 << 6 | sync >> 8 << 4 | porch >> 4 << 2 | pulse >> 4,
            wide & 255,
            high & 255,
            wide >> 8 << 4 | high >> 8,
            *timing.border,
            0x80 * timing.interlaced | 0x1E,
        ]
    )


def build_text(tag: int, text: str) -> bytes:
    """A text descriptor: 13 characters, a line end where there is room, spaces behind it."""
    return bytes([0, 0, 0, tag, 0]) + (text + "\n" * (len(text) < 13)).encode().ljust(13)


def timing_plans() -> st.SearchStrategy[TimingPlan]:
    """Timings of every size that the bytes can hold."""

    def pairs(first: int, second: int) -> st.SearchStrategy[tuple[int, int]]:
        return st.tuples(st.integers(0, first), st.integers(0, second))

    return st.builds(
        TimingPlan,
        width=st.integers(1, 4095),
        height=st.integers(1, 4095),
        clock_hz=st.integers(1000, 65535).map(lambda clock: clock * 10_000),
        blank=pairs(4095, 4095),
        front=pairs(1023, 63),
        sync=pairs(1023, 63),
        millimetres=pairs(4095, 4095),
        border=pairs(255, 255),
        interlaced=st.booleans(),
    )


def texts() -> st.SearchStrategy[str]:
    """What a text descriptor can hold."""
    return st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=13)


def edid_plans() -> st.SearchStrategy[EdidPlan]:
    """Sound EDIDs of every kind, with up to three extensions."""
    return st.builds(
        EdidPlan,
        letters=st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=3, max_size=3),
        product=st.integers(0, 0xFFFF),
        serial=st.integers(0, 0xFFFFFFFF),
        week=st.integers(0, 255),
        year=st.integers(1990, 2245),
        revision=st.integers(0, 4),
        signal=st.integers(0, 255),
        size_centimetres=st.tuples(st.integers(0, 255), st.integers(0, 255)),
        gamma_hundredths=st.integers(100, 355),
        features=st.integers(0, 255),
        established=st.binary(min_size=3, max_size=3),
        standard=st.binary(min_size=16, max_size=16),
        timings=st.lists(timing_plans(), max_size=1).map(tuple),
        names=st.lists(texts(), max_size=1).map(tuple),
        texts=st.lists(texts(), max_size=1).map(tuple),
        serial_texts=st.lists(texts(), max_size=1).map(tuple),
        extensions=st.lists(st.binary(max_size=127), max_size=3).map(tuple),
    )


def damaged_edids() -> st.SearchStrategy[bytes]:
    """Sound EDIDs with some bytes changed, cut short or grown, so that every branch is reached."""

    def damage(edid: bytes, changes: list[tuple[int, int]], length: int) -> bytes:
        changed = bytearray(edid)
        for place, byte in changes:
            changed[place % len(changed)] = byte
        return bytes(changed)[:length] + b"\xa5" * max(0, length - 3 * BLOCK)

    places = st.tuples(st.integers(8, 511), st.integers(0, 255))
    return st.builds(
        damage,
        st.builds(build_edid, edid_plans()),
        st.lists(places, max_size=12),
        st.integers(100, 520),
    )
