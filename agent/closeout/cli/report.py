"""`closeout report`: what is written, looked at afterwards and put on paper."""

from __future__ import annotations

import argparse

from closeout.cli import report_label, report_pdf, report_verify
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import ExitCode


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    verify = actions.add_parser(
        "verify", help="whether a report is what a station sealed, and what it would be now"
    )
    report_verify.add_arguments(verify)
    pdf = actions.add_parser(
        "pdf", help="put a report on paper: one document, and in it what verifies it"
    )
    report_pdf.add_arguments(pdf)
    label = actions.add_parser("label", help="put its verdict on a label for the unit's lid or bag")
    report_label.add_arguments(label)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Verifies, or makes document or label."""
    match options.action:
        case "pdf":
            return report_pdf.run(options, surroundings)
        case "label":
            return report_label.run(options, surroundings)
        case _:
            return report_verify.run(options, surroundings)
