"""EDID extensions of invented panels, built from plans: CTA-861 and DisplayID, without the sum."""

from dataclasses import dataclass

from hypothesis import strategies as st

from strategies.edid import TimingPlan, build_timing

COLLECTION_ROOM = 123
SECTION_ROOM = 121


@dataclass(frozen=True, slots=True, kw_only=True)
class CtaPlan:
    """Data blocks as tag and content (an extended one has tag 7, its own tag first), timings."""

    revision: int = 3
    flags: int = 0
    blocks: tuple[tuple[int, bytes], ...] = ()
    timings: tuple[TimingPlan, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPlan:
    """A DisplayID timing; every number of it counts from one."""

    timing: TimingPlan
    preferred: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DisplayIdPlan:
    """Sections as tag, revision and content."""

    version: int = 0x20
    product_type: int = 0
    count: int = 0
    sections: tuple[tuple[int, int, bytes], ...] = ()


def build_cta(plan: CtaPlan) -> bytes:
    """The extension; what does not fit is a mistake of the plan."""
    collection = b"".join(bytes([tag << 5 | len(raw)]) + raw for tag, raw in plan.blocks)
    timings = b"".join(map(build_timing, plan.timings))
    assert len(collection) + len(timings) <= COLLECTION_ROOM, "the plan does not fit"
    return bytes([2, plan.revision, 4 + len(collection), plan.flags]) + collection + timings


def build_displayid(plan: DisplayIdPlan) -> bytes:
    """The extension with the sum of its section."""
    blocks = b"".join(
        bytes([tag, revision, len(raw)]) + raw for tag, revision, raw in plan.sections
    )
    assert len(blocks) <= SECTION_ROOM, "the plan does not fit"
    section = bytes([plan.version, len(blocks), plan.product_type, plan.count]) + blocks
    return bytes([0x70]) + section + bytes([-sum(section) % 256])


def build_marked(plan: MarkedPlan, step_hz: int) -> bytes:
    """The 20 bytes of a timing of type I (steps of 10 kHz) or VII (1 kHz)."""
    timing = plan.timing
    options = 0x80 * plan.preferred | 0x10 * timing.interlaced
    numbers = (
        *(timing.width, timing.blank[0], timing.front[0], timing.sync[0]),
        *(timing.height, timing.blank[1], timing.front[1], timing.sync[1]),
    )
    clock = (timing.clock_hz // step_hz - 1).to_bytes(3, "little")
    return clock + bytes([options]) + b"".join((n - 1).to_bytes(2, "little") for n in numbers)


def marked_plans() -> st.SearchStrategy[MarkedPlan]:
    """Timings of every size that twenty bytes can hold, in steps of 10 kHz."""
    full, porch = st.integers(1, 0x10000), st.integers(1, 0x8000)
    timing = st.builds(
        TimingPlan,
        width=full,
        height=full,
        clock_hz=st.integers(1, 0x1000000).map(lambda steps: steps * 10_000),
        blank=st.tuples(full, full),
        front=st.tuples(porch, porch),
        sync=st.tuples(full, full),
        millimetres=st.just((0, 0)),
        interlaced=st.booleans(),
    )
    return st.builds(MarkedPlan, timing=timing, preferred=st.booleans())


def cta_plans() -> st.SearchStrategy[CtaPlan]:
    """Extensions of every revision; before the third there are no data blocks."""
    blocks = st.lists(st.tuples(st.integers(0, 7), st.binary(max_size=15)), max_size=4).map(tuple)
    return st.builds(
        CtaPlan, revision=st.just(3), flags=st.integers(0, 255), blocks=blocks
    ) | st.builds(CtaPlan, revision=st.integers(1, 2), flags=st.integers(0, 255))


def displayid_plans() -> st.SearchStrategy[DisplayIdPlan]:
    """Extensions with any sections but padding."""
    section = st.tuples(st.integers(1, 255), st.integers(0, 255), st.binary(max_size=25))
    return st.builds(
        DisplayIdPlan,
        version=st.sampled_from([0x12, 0x13, 0x20]),
        product_type=st.integers(0, 15),
        count=st.integers(0, 255),
        sections=st.lists(section, max_size=4).map(tuple),
    )
