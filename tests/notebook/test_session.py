"""The session: both ends of the line, run against each other."""

import getpass
import io
import socket
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

import closeout
from notebook.session import GuestError, Session

IN_GUEST = Path(__file__).parent / "in_guest"


@pytest.fixture
def session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Session]:
    """A session whose guest is a thread of this process."""
    monkeypatch.syspath_prepend(str(IN_GUEST))
    monkeypatch.delitem(sys.modules, "session", raising=False)
    import session as guest  # noqa: PLC0415 - it is found only now

    listening = socket.socket(socket.AF_UNIX)
    listening.bind(str(tmp_path / "line"))
    listening.listen()

    def answer() -> None:
        connection, _ = listening.accept()
        with connection, io.FileIO(connection.fileno(), "r+", closefd=False) as line:
            line.write(b'firmware greets\r\n{"ready": 4.5}\n')
            guest.serve(line)

    thread = Thread(target=answer)
    thread.start()
    with listening:
        opened = Session(tmp_path / "line")
        yield opened
        opened.close()
        thread.join()
    sys.modules.pop("session", None)


def run(session: Session, *program: str, **terms: Any) -> Any:  # noqa: ANN401 - whatever it takes
    return session.run(*program, user=getpass.getuser(), **terms)


def test_a_program_and_its_end(session: Session) -> None:
    assert session.wait_until_ready(5) == 4.5
    ran = run(session, "sh", "-c", "cat; echo wrong >&2; exit 7", given=b"\x00\xff")
    assert (ran.status, ran.out, ran.err) == (7, b"\x00\xff", b"wrong\n")
    assert ran.seconds >= 0


def test_a_program_that_does_not_end(session: Session) -> None:
    session.wait_until_ready(5)
    ran = run(session, "sh", "-c", "echo begun; sleep 60", seconds=0.3)
    assert (ran.status, ran.out) == (124, b"begun\n")


def test_files_go_both_ways(session: Session, tmp_path: Path) -> None:
    session.wait_until_ready(5)
    content = bytes(range(256)) * 300
    session.write(str(tmp_path / "new" / "file"), content, mode=0o600)
    assert session.read(str(tmp_path / "new" / "file")) == content
    assert (tmp_path / "new" / "file").stat().st_mode & 0o777 == 0o600


def test_what_fails_says_its_errno(session: Session, tmp_path: Path) -> None:
    session.wait_until_ready(5)
    with pytest.raises(GuestError, match="ENOENT"):
        session.read(str(tmp_path / "none"))
    with pytest.raises(GuestError, match="ENOENT"):
        run(session, str(tmp_path / "none"))


def test_a_guest_that_does_not_answer(tmp_path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "line"))
        listening.listen()
        session = Session(tmp_path / "line")
        with pytest.raises(GuestError, match="no answer within 0 s"):
            session.wait_until_ready(0.05)
        connection, _ = listening.accept()
        connection.close()
        with pytest.raises(GuestError, match="the guest has ended"):
            session.wait_until_ready(5)
        session.close()


@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_the_agent_is_loaded_once_and_runs_in_a_child(
    session: Session, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    session.wait_until_ready(5)
    session.load_agent(str(Path(closeout.__file__).parent.parent))
    told = session.run_agent("--version", seconds=20)
    assert (told.status, told.text) == (0, "closeout 0.1.0\n")
    refused = session.run_agent("check", "--profile", "nobody/nothing", seconds=20)
    assert (refused.status, refused.err[:9]) == (2, b"closeout:")
    assert session.run_agent("check", "--out", str(tmp_path), seconds=0.01).status == 124
