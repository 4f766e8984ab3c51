"""The private key of a station: made, kept where nobody else may read it, and opened."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from closeout.cli.files import read_file
from closeout.cli.sealing import LockedKeyError
from closeout.cli.station_records import RECORD_FILE, load_station
from closeout.cli.trouble import InputTroubleError
from closeout.report.seal import Signer, to_base64url

KEY_FILE: Final = "station.key"
OWNER_ALONE: Final = 0o600
OTHERS: Final = 0o077
LARGEST_KEY: Final = 1 << 14


def load_signer(folder: Path, passphrase: bytes | None) -> Signer:
    """The station of a folder with its private key. Raises InputTroubleError."""
    station = load_station(folder / RECORD_FILE)
    file = folder / KEY_FILE
    secret = _open_key(file, read_file(file, LARGEST_KEY), passphrase)
    if to_base64url(secret.public_key().public_bytes_raw()) != station.key:
        raise InputTroubleError(f"{file}: not the key of {RECORD_FILE} beside it")
    return Signer(station=station, secret=to_base64url(secret.private_bytes_raw()))


def _open_key(file: Path, raw: bytes, passphrase: bytes | None) -> Ed25519PrivateKey:
    try:
        key = serialization.load_pem_private_key(raw, passphrase)
    except TypeError as error:  # one is wanted and none given, or the other way round
        if passphrase is None:
            raise LockedKeyError(f"{file}: it is locked; give its pass phrase") from error
        raise InputTroubleError(f"{file}: it has no pass phrase") from error
    except ValueError as error:
        wrong = "the pass phrase does not open it" if passphrase else "no private key of a station"
        raise InputTroubleError(f"{file}: {wrong}") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise InputTroubleError(f"{file}: no Ed25519 key")
    return key


def make_key(passphrase: bytes | None) -> tuple[bytes, str]:
    """A new private key as PEM (PKCS #8, RFC 5958), and its public part as base64url."""
    key = Ed25519PrivateKey.generate()
    lock: serialization.KeySerializationEncryption = serialization.NoEncryption()
    if passphrase:
        lock = serialization.BestAvailableEncryption(passphrase)
    encoding, form = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    pem = key.private_bytes(encoding, form, lock)
    return pem, to_base64url(key.public_key().public_bytes_raw())


def write_secret(file: Path, content: bytes) -> None:
    """A new file that nobody else may read, where the file system knows who may.

    Raises InputTroubleError; a file that is there is never overwritten.
    """
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, OWNER_ALONE)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        except OSError:
            file.unlink()  # a piece of a key would keep the next one from its place
            raise
    except FileExistsError as error:
        raise InputTroubleError(
            f"{file}: it is there already, and a key is never overwritten"
        ) from error
    except OSError as error:
        raise InputTroubleError(f"{file}: cannot be written: {error.strerror}") from error


def others_may_read(file: Path) -> bool:
    """Whether the file system lets others read the file: that of a stick knows no owners."""
    return bool(file.stat().st_mode & OTHERS)
