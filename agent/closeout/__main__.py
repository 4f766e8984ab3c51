"""`python -m closeout` does what `closeout` does."""

from __future__ import annotations

from closeout.cli.main import run

run()
