"""The ways in which one reading can fail, as answers that take the place of the recorded one.

The errnos are those of the kernel's own files and buses; what is not an errno is what a reader
may get instead of what it should: nothing, noise, a part, or no answer at all.
"""

import errno
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Kind, Record

NOISE_BYTES: Final = 65_536
NOISE_NAMES: Final = 400
SEED: Final = 20_261_125


@dataclass(frozen=True, slots=True, kw_only=True)
class WayToFail:
    """`replace` gives the answer instead of a record's own, or None where that kind has none."""

    name: str
    replace: Callable[[Record], Answer | None]
    says_absent: bool = False
    """Whether it reads as "there is none", which a demand of absence rightly takes for met."""


def _failing(number: int, reason: Reason = Reason.KERNEL) -> Callable[[Record], Answer | None]:
    failure = Failure(number=number, reason=reason)

    def replace(record: Record) -> Answer | None:
        return None if record.answer == failure else failure

    return replace


def with_errno(number: int) -> WayToFail:
    """The kernel refuses with an errno; without a file there is nothing to read."""
    name = errno.errorcode[number]
    gone = number in {errno.ENOENT, errno.ENOTDIR}
    return WayToFail(name=name, replace=_failing(number), says_absent=gone)


def _emptied(record: Record) -> Answer | None:
    nothing: Mapping[Kind, Answer] = {
        Kind.READ: b"",
        Kind.ASK: b"",
        Kind.NAMES: (),
        Kind.TARGET: "",
    }
    answer = nothing[record.question.kind]
    return None if record.answer == answer else answer


def _noisy(record: Record) -> Answer | None:
    drawn = random.Random(SEED)  # noqa: S311 - noise, no secret
    if record.question.kind in {Kind.READ, Kind.ASK}:
        return drawn.randbytes(NOISE_BYTES)
    letters = "".join(chr(number) for number in (*range(1, 47), *range(48, 127), 0xDC80, 0x202E))
    words = ["".join(drawn.choices(letters, k=160)) for _ in range(NOISE_NAMES)]
    return tuple(sorted(words)) if record.question.kind is Kind.NAMES else "/".join(words)


def _cut(record: Record) -> Answer | None:
    """The first half; what is one piece has none."""
    match record.answer:
        case bytes() | str() as answer if len(answer) > 1:
            return answer[: len(answer) // 2]
        case _:
            return None


def _left_out(record: Record) -> Answer | None:
    """Half of the names. Nothing in a listing tells that others were there."""
    match record.answer:
        case tuple() as answer if len(answer) > 1:
            return answer[: len(answer) // 2]
        case _:
            return None


HANG: Final = WayToFail(name="hang", replace=_failing(errno.ETIMEDOUT, Reason.DEADLINE))
NOTHING: Final = WayToFail(name="nothing", replace=_emptied, says_absent=True)
NOISE: Final = WayToFail(name="noise", replace=_noisy)
CUT: Final = WayToFail(name="cut", replace=_cut)
LEFT_OUT: Final = WayToFail(name="left out", replace=_left_out, says_absent=True)

EVERY_CHANGE: Final = (
    with_errno(errno.ENOENT),
    with_errno(errno.EACCES),
    with_errno(errno.ENODEV),
    with_errno(errno.EIO),
    HANG,
    NOTHING,
    NOISE,
    CUT,
    LEFT_OUT,
)
"""What a change of the project is tried against."""

OTHER_ERRNOS: Final = (
    errno.EPERM,
    errno.ENODATA,
    errno.EAGAIN,
    errno.EINVAL,
    errno.ENXIO,
    errno.EREMOTEIO,
    errno.ETIMEDOUT,
    errno.ENOMEDIUM,
    errno.EBUSY,
    errno.ERFKILL,
    errno.ENETDOWN,
    errno.EPIPE,
    errno.ENOSYS,
    errno.ENOTDIR,
    errno.EISDIR,
    errno.ELOOP,
)
"""The rest of what kernel files, buses and the system calls on them answer."""

EVERY_WAY: Final = (
    *EVERY_CHANGE,
    *(with_errno(number) for number in OTHER_ERRNOS),
    WayToFail(name="DIED", replace=_failing(errno.EIO, Reason.DIED)),
    WayToFail(name="TOO_LARGE", replace=_failing(errno.EFBIG, Reason.TOO_LARGE)),
    WayToFail(name="NOT_OFFERED", replace=_failing(errno.EOPNOTSUPP, Reason.NOT_OFFERED)),
    WayToFail(name="NOT_RECORDED", replace=_failing(errno.ENODATA, Reason.NOT_RECORDED)),
)
"""What the long run tries."""
