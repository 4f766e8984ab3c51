"""The session: runs inside the guest, and does what the host asks for over a serial line.

    python3 session.py /dev/ttyS1 READY

Each request and each answer is one line of JSON; contents are compressed (zlib), for the line takes
30 KB a second, and base64. The first answer is given
once the file READY is there, and holds what it says: the seconds since the kernel started.

    {"run": ["iw", "dev"], "user": "root", "seconds": 20}
        -> {"status": 0, "out": "...", "err": "...", "seconds": 0.31}
    {"write": "/tmp/order.toml", "content": "...", "mode": 420}     -> {}
    {"write": "/tmp/agent.tar", "tray": [285212672, 40960]}         -> {}
        the content is in memory: where, and how many bytes
    {"load": "/opt/closeout/agent"}                                 -> {}
        the agent is loaded; then a command of it needs no start:
    {"closeout": ["check"], "seconds": 60}  -> {"status": 0, "out": "...", "err": "...", ...}
    {"read": "/tmp/unit.jsonl.gz"}      -> {"content": "..."} or {"error": "ENOENT"}
"""

import base64
import errno
import io
import json
import os
import pwd
import signal
import subprocess
import sys
import termios
import time
import tty
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import loaded_agent

TOO_LATE = 124  # as timeout(1) ends
CHUNK = 1 << 16


def serve(line: io.FileIO) -> None:
    """Answers until the line is closed."""
    waiting = b""
    while arrived := line.read(CHUNK):
        *requests, waiting = (waiting + arrived).split(b"\n")
        for request in requests:
            send(line, answer(json.loads(request)))


def answer(request: Mapping[str, Any]) -> dict[str, Any]:
    """What one request comes to; an errno is an answer too."""
    try:
        if "run" in request:
            return run(request)
        if "load" in request:
            loaded_agent.load(request["load"])
            return {}
        if "closeout" in request:
            return run_loaded(request)
        if "write" in request:
            return write(request)
        return {"content": packed(Path(request["read"]).read_bytes())}
    except OSError as failure:
        return {"error": errno.errorcode.get(failure.errno or 0, str(failure))}


def run(request: Mapping[str, Any]) -> dict[str, Any]:
    """Runs a program as a user; what outlives its seconds is ended, with all its children."""
    account = pwd.getpwnam(request.get("user", "root"))
    begun = time.monotonic()
    child = subprocess.Popen(
        request["run"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=request.get("folder", account.pw_dir),
        env={**os.environ, "HOME": account.pw_dir, "USER": account.pw_name},
        user=account.pw_uid,
        group=account.pw_gid,
        extra_groups=[],
        start_new_session=True,
    )
    try:
        given = unpacked(request["input"]) if "input" in request else b""
        out, err = child.communicate(given, timeout=request["seconds"])
        status = child.returncode
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, signal.SIGKILL)
        out, err = child.communicate()
        status = TOO_LATE
    seconds = round(time.monotonic() - begun, 3)
    return {"status": status, "out": packed(out), "err": packed(err), "seconds": seconds}


def run_loaded(request: Mapping[str, Any]) -> dict[str, Any]:
    """Runs a command of the agent that was loaded."""
    begun = time.monotonic()
    status, out, err = loaded_agent.run(request["closeout"], request["seconds"])
    seconds = round(time.monotonic() - begun, 3)
    return {"status": status, "out": packed(out), "err": packed(err), "seconds": seconds}


def write(request: Mapping[str, Any]) -> dict[str, Any]:
    """Writes a file, with the folders above it."""
    file = Path(request["write"])
    file.parent.mkdir(parents=True, exist_ok=True)
    if "tray" in request:
        file.write_bytes(from_memory(*request["tray"]))
    else:
        file.write_bytes(unpacked(request["content"]))
    file.chmod(request.get("mode", 0o644))
    return {}


def from_memory(address: int, length: int) -> bytes:
    """What the host laid there."""
    memory = os.open("/dev/mem", os.O_RDONLY)
    try:
        return os.pread(memory, length, address)
    finally:
        os.close(memory)


def packed(content: bytes) -> str:
    """Bytes as JSON can hold them."""
    return base64.b64encode(zlib.compress(content, 1)).decode("ascii")


def unpacked(text: str) -> bytes:
    """The bytes of a content."""
    return zlib.decompress(base64.b64decode(text))


def send(line: io.FileIO, reply: Mapping[str, Any]) -> None:
    """Writes the whole line; a serial line takes it in pieces."""
    rest = memoryview(json.dumps(reply).encode("ascii") + b"\n")
    while rest:
        rest = rest[line.write(rest) or 0 :]


def set_line(descriptor: int) -> None:
    """Bytes pass unchanged, at the highest speed of the line."""
    tty.setraw(descriptor, termios.TCSANOW)
    settings = termios.tcgetattr(descriptor)
    settings[4] = settings[5] = termios.B115200
    termios.tcsetattr(descriptor, termios.TCSANOW, settings)


def main() -> None:
    """Opens the line as bytes pass it unchanged, waits until the guest is ready, serves."""
    place, ready = sys.argv[1:3]
    with io.FileIO(place, "r+") as line:
        set_line(line.fileno())
        while not Path(ready).is_file():
            time.sleep(0.02)
        line.write(b"\n")  # behind what firmware may have left on the line
        send(line, {"ready": float(Path(ready).read_text("ascii") or 0)})
        serve(line)


if __name__ == "__main__":
    main()
