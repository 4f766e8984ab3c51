"""`python -m closeout` does what `closeout` does."""

from closeout.cli.main import run

if __name__ == "__main__":
    run()
