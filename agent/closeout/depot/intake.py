"""Reports on their way into the ledger: read, looked at by all processors, kept chunk by chunk.

A chunk is one transaction, flushed to the disk before it is told of. Whoever is killed between two
loses nothing that was told, and what was not told is read again by the next run.
"""

from __future__ import annotations

import gc
import os
import signal
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context
from typing import Final, TypeAlias

from closeout.depot.bundle import Bundle, Spoiled
from closeout.depot.examine import Taken, Terms, examine
from closeout.depot.failure import LedgerError
from closeout.depot.keep import (
    Known,
    Written,
    find_forgotten,
    find_known,
    write_chunk,
    write_set_aside,
)
from closeout.depot.ledger import Ledger
from closeout.kernel.parent import end_with_parent
from closeout.model.frozen import frozen

Arrival: TypeAlias = Bundle | Spoiled
Examine: TypeAlias = Callable[[Sequence[Bundle]], list[Taken | Spoiled]]

MOST_AT_ONCE: Final = 128
MOST_BYTES_AT_ONCE: Final = 64 << 20
AT_ONCE_BY_ONE: Final = 4
BETWEEN_CLEANING: Final = 32
KILLED: Final = (
    "a process that looked at reports was ended from outside, or by too little memory; what was"
    " said to be kept is kept; run the same command again"
)


@frozen
class Step:
    """What has been kept by one transaction, and what was not taken.

    `unproven` of those added have no seal of a station that is known.
    """

    added: int
    completed: int
    known: int
    forgotten: int
    unproven: int
    spoiled: tuple[Spoiled, ...]


def take_in(arrivals: Iterable[Arrival], ledger: Ledger, terms: Terms, now: int) -> Iterator[Step]:
    """A step for each chunk, once it is on the disk. Raises LedgerError."""
    with examiners(terms) as examine_all:
        for number, chunk in enumerate(chunks_of(arrivals), start=1):
            yield _take_chunk(chunk, ledger, examine_all, now)
            if number % BETWEEN_CLEANING == 0:
                gc.collect()  # a command makes no garbage worth looking for; one of hours does


def chunks_of(arrivals: Iterable[Arrival]) -> Iterator[list[Arrival]]:
    """So many at once as go into one transaction, none of them twice in one."""
    chunk: list[Arrival] = []
    seen: set[str] = set()
    size = 0
    for arrival in arrivals:
        is_again = arrival.digest in seen
        if is_again or len(chunk) >= MOST_AT_ONCE or size > MOST_BYTES_AT_ONCE:
            yield chunk
            chunk, seen, size = [], set[str](), 0
        chunk.append(arrival)
        if isinstance(arrival, Bundle):
            seen.add(arrival.digest)
            size += sum(map(len, arrival.files.values()))
    if chunk:
        yield chunk


def _take_chunk(chunk: Sequence[Arrival], ledger: Ledger, examine_all: Examine, now: int) -> Step:
    digests = [arrival.digest for arrival in chunk]
    with ledger.reading() as connection:
        known = find_known(connection, digests)
        gone = find_forgotten(connection, digests)
    wanted = [arrival for arrival in chunk if arrival.digest not in gone]
    bundles = [one for one in wanted if isinstance(one, Bundle)]
    fresh = [one for one in bundles if not _is_whole(one, known.get(one.digest))]
    outcomes = examine_all(fresh)
    taken = [one for one in outcomes if isinstance(one, Taken)]
    spoiled = [one for one in (*wanted, *outcomes) if isinstance(one, Spoiled)]
    written = Written()
    if taken or any(one.digest for one in spoiled):
        with ledger.writing() as connection:
            written = write_chunk(connection, taken)
            write_set_aside(connection, spoiled, now)
    return Step(
        added=written.added,
        completed=written.completed,
        known=written.known + len(bundles) - len(fresh),
        forgotten=len(chunk) - len(wanted),
        unproven=written.unproven,
        spoiled=tuple(spoiled),
    )


def _is_whole(bundle: Bundle, known: Known | None) -> bool:
    """Whether the ledger has all of it."""
    return known is not None and known.has_all_of(bundle.digests)


@contextmanager
def examiners(terms: Terms) -> Generator[Examine]:
    """What looks at many reports, with as many processes as there are processors."""
    workers = len(os.sched_getaffinity(0))
    look = partial(examine, terms=terms)
    if workers <= 1:
        yield lambda bundles: [look(bundle) for bundle in bundles]
        return
    context = get_context("fork")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_begin) as pool:

        def look_at_all(bundles: Sequence[Bundle]) -> list[Taken | Spoiled]:
            if len(bundles) < AT_ONCE_BY_ONE:
                return [look(bundle) for bundle in bundles]
            try:
                return list(pool.map(look, bundles, chunksize=AT_ONCE_BY_ONE))
            except BrokenProcessPool:
                raise LedgerError(KILLED) from None

        yield look_at_all


def _begin() -> None:
    """The operator stops the command, which ends its processes; and they end with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()
