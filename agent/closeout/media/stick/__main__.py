"""`python3 -m closeout.media.stick`: the first program."""

from __future__ import annotations

from closeout.media.stick.first_program import run

if __name__ == "__main__":
    run()
