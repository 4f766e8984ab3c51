"""`closeout media build`: an image for USB out of Debian's packages, and files for a network start.

Says what it needs where something is missing, and what it made.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.media.trouble import MediaError

CACHE: Final = Path("~/.cache/closeout/media")
FOLDER: Final = Path("closeout-stick")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what is built, and out of what."""
    parser.add_argument(
        "-o", dest="out", metavar="FOLDER", type=Path, help=f"else: {FOLDER} in this folder"
    )
    parser.add_argument(
        "--no-firmware", action="store_true", help="small, without firmware that is not free"
    )
    parser.add_argument(
        "--no-pdf", action="store_true", help="without documents of reports, 33 MiB less"
    )
    parser.add_argument(
        "--kernel", metavar="PACKAGE|SUITE", help="another kernel, for example trixie-backports"
    )
    parser.add_argument("--cache", metavar="DIR", type=Path, help=f"kept packages; else: {CACHE}")
    parser.add_argument(
        "--offline", action="store_true", help="from the kept packages alone, by their digests"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Builds; what is missing here or cannot be had is bad input."""
    try:
        return _build(options, surroundings)
    except MediaError as error:
        raise InputTroubleError(*error.lines) from error


def _build(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    from closeout.media.build import build  # noqa: PLC0415 - help needs none of it
    from closeout.media.packages import fetched_packages, kept_packages  # noqa: PLC0415 - as above
    from closeout.media.programs import missing_on_host  # noqa: PLC0415 - as above
    from closeout.media.recipe import KERNEL, Wanted  # noqa: PLC0415 - as above
    from closeout.media.summary import summary  # noqa: PLC0415 - as above
    from closeout.media.wheels import missing_for_wheels  # noqa: PLC0415 - as above

    def say(line: str) -> None:
        say_line(f"closeout: {line}", surroundings.stderr)

    wanted = Wanted(
        has_firmware=not options.no_firmware,
        has_documents=not options.no_pdf,
        kernel=options.kernel or KERNEL,
    )
    cache = (options.cache or CACHE).expanduser().resolve()
    missing = [*missing_on_host(is_offline=options.offline)]
    if wanted.has_documents and not options.offline:
        missing += missing_for_wheels(cache)
    if missing:
        raise InputTroubleError(*missing)
    out = surroundings.folder / (options.out or FOLDER)
    try:
        cache.mkdir(parents=True, exist_ok=True)
        say("looking up the kept packages" if options.offline else "asking for today's packages")
        lock = (kept_packages if options.offline else fetched_packages)(wanted, cache)
        manifest = build(lock, cache, out, say)
    except OSError as error:
        raise InputTroubleError(f"{error.filename or out}: {error.strerror}") from error
    for line in summary(manifest, out):
        say_line(line, surroundings.stdout)
    return DONE
