"""`closeout media`: the stick that boots a unit into the check."""

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.media.trouble import MediaError

CACHE: Final = Path("~/.cache/closeout/media")
FOLDER: Final = Path("closeout-stick")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    built = actions.add_parser("build", help="an image for USB, and files for a network start")
    built.add_argument(
        "-o", dest="out", metavar="FOLDER", type=Path, help=f"else: {FOLDER} in this folder"
    )
    built.add_argument(
        "--no-firmware", action="store_true", help="small, without firmware that is not free"
    )
    built.add_argument(
        "--kernel", metavar="PACKAGE|SUITE", help="another kernel, for example trixie-backports"
    )
    built.add_argument("--cache", metavar="DIR", type=Path, help=f"kept packages; else: {CACHE}")
    built.add_argument(
        "--offline", action="store_true", help="from the kept packages alone, by their digests"
    )
    verified = actions.add_parser("verify", help="whether a stick is what its manifest says")
    verified.add_argument(
        "target", metavar="IMAGE|DEVICE|FOLDER", type=Path, help="is read and never written"
    )
    verified.add_argument(
        "--manifest", metavar="FILE", type=Path, help="else: beside the image, or on the stick"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Calls the action; what cannot be built or read is bad input."""
    try:
        return ACTIONS[options.action](options, surroundings)
    except MediaError as error:
        raise InputTroubleError(*error.lines) from error


def run_build(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says what is missing here, or builds and says what was made."""
    from closeout.media.build import build  # noqa: PLC0415 - verify needs none of it
    from closeout.media.packages import fetched_packages, kept_packages  # noqa: PLC0415 - as above
    from closeout.media.programs import missing_on_host  # noqa: PLC0415 - as above
    from closeout.media.recipe import KERNEL, Wanted  # noqa: PLC0415 - as above
    from closeout.media.summary import summary  # noqa: PLC0415 - as above

    def say(line: str) -> None:
        say_line(f"closeout: {line}", surroundings.stderr)

    if missing := tuple(missing_on_host(is_offline=options.offline)):
        raise InputTroubleError(*missing)
    wanted = Wanted(has_firmware=not options.no_firmware, kernel=options.kernel or KERNEL)
    cache = (options.cache or CACHE).expanduser().resolve()
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


def run_verify(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says a line for each file; what is not as the manifest says ends with bad input."""
    from closeout.media.verify import verify  # noqa: PLC0415 - a build needs none of it

    wrong: list[str] = []
    for remark in verify(surroundings.folder / options.target, options.manifest):
        line = f"{remark.subject}: {remark.told}"
        if remark.is_wrong:
            wrong.append(line)
        else:
            say_line(line, surroundings.stdout)
    if wrong:
        raise InputTroubleError(*wrong)
    return DONE


ACTIONS: Final[Mapping[str, Callable[[argparse.Namespace, Surroundings], ExitCode]]] = {
    "build": run_build,
    "verify": run_verify,
}
