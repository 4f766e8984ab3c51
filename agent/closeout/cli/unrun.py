"""`closeout unrun`: record a unit that does not start, is locked, or was not checked."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Final

from closeout import VERSION
from closeout.cli.closing import REPORTS
from closeout.cli.heard import STATION
from closeout.cli.order_shelf import Shelf
from closeout.cli.sealing import add_sealing_arguments, find_signer, say_doubt, seal_files
from closeout.cli.source import moment_now
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.typed_text import read_code, read_reason
from closeout.cli.words import say_line
from closeout.expect.scan import tidy
from closeout.model.unrun import Unrun, WhyUnrun
from closeout.report.failure import StoreError
from closeout.report.store import unrun_folder, write_new
from closeout.report.unrun_json import render_unrun_json
from closeout.report.unrun_page import render_unrun_page

NOT_WRITTEN: Final = "the record was not written"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds order, reason, author and output."""
    reasons = [why.value for why in WhyUnrun]
    parser.add_argument("--order", metavar="ID", required=True, help="the order by its number")
    parser.add_argument(
        "--reason", required=True, choices=reasons, help=f"one of {', '.join(reasons)}"
    )
    parser.add_argument("--by", metavar="CODE", required=True, help="who says it")
    parser.add_argument("--note", metavar="TEXT", help="what was seen, in a line")
    parser.add_argument("--station", metavar="CODE", help=f"where (else: ${STATION})")
    parser.add_argument(
        "--out", metavar="DIR", type=Path, help=f"folder for reports (else: ./{REPORTS})"
    )
    add_sealing_arguments(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the record beside the order's attempts, of which it is none."""
    signer = find_signer(options)
    order = Shelf(folder=None).find(options.order, "--order").order
    own = signer.station.code if signer else ""
    station = options.station or os.environ.get(STATION, "") or own
    root = surroundings.folder / (options.out or REPORTS)
    by = read_code(tidy(options.by), "--by")
    note = read_reason(options.note, "--note") if options.note else ""
    where = read_code(tidy(station), "--station") if station else ""
    try:
        folder, number = unrun_folder(root, order)
        unrun = Unrun(
            agent=f"closeout {VERSION}",
            order=order,
            number=number,
            why=WhyUnrun(options.reason),
            note=note,
            by=by,
            station=where,
            at=moment_now(surroundings),
        )
        raw = render_unrun_json(unrun)
        page = render_unrun_page(unrun).encode()
        sealed = seal_files(raw, signer, "unrun")
        write_new(folder, {"unrun.json": raw, "unrun.html": page, **sealed})
    except StoreError as error:
        raise InputTroubleError(f"{NOT_WRITTEN}: {error}") from error
    say_line(f"Record: {folder}", surroundings.stdout)
    say_doubt(signer, unrun.at, surroundings)
    return DONE
