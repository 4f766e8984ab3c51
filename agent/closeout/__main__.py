"""`python -m closeout` does what `closeout` does."""

from closeout.cli.main import run

run()
