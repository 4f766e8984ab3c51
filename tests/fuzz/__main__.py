"""Coverage-guided fuzzing of one target: `python -m fuzz TARGET [SECONDS]`, in tests/.

New inputs that reach new code go to the corpus; an input that crashes is written beside the
corpus, and the run fails. Needs atheris (`pip install -e '.[fuzz]'`).
"""

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["closeout"]):
    from fuzz.corpus import CORPUS, EVERYBODYS
    from fuzz.targets import REFUSALS, targets


def main(name: str, seconds: str = "60") -> None:
    """Fuzzes until the time is over or something crashes."""
    run = targets()[name].run
    found = CORPUS / name
    found.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(EVERYBODYS):
        (found / f"everybodys-{number}").write_bytes(seed)

    def once(raw: bytes) -> None:
        try:
            run(raw)
        except REFUSALS:
            return

    crashes = Path(__file__).with_name("crashes") / name
    crashes.mkdir(parents=True, exist_ok=True)
    options = [f"-max_total_time={seconds}", "-max_len=16384", f"-artifact_prefix={crashes}/"]
    atheris.Setup([sys.argv[0], *options, "-rss_limit_mb=4096", "-timeout=20", str(found)], once)
    atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
