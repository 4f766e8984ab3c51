"""The seal over a report: a detached JSON Web Signature (RFC 7515, appendix F) of its exact bytes.

It is one line, `HEADER..SIGNATURE`: what is signed is HEADER, a dot, and the file as base64url. The
header holds `alg`, which is EdDSA with Ed25519 (RFC 8037), and `kid`, the thumbprint of the public
key (RFC 7638), and nothing else. The signing itself is the library's, joserfc. What a lead states
is signed in the same way, and stands between the two dots.
"""

from __future__ import annotations

import binascii
import hashlib
import json
import warnings
from collections.abc import Iterable
from contextlib import contextmanager
from enum import Enum
from typing import TYPE_CHECKING, Final

from closeout.expect.document import is_table
from closeout.model.frozen import frozen
from closeout.model.station import Station

if TYPE_CHECKING:
    from collections.abc import Generator

    from joserfc.jws import JWSRegistry

ALGORITHM: Final = "EdDSA"
CURVE: Final = {"crv": "Ed25519", "kty": "OKP"}
SEAL_FILE: Final = "report.jws"
LARGEST_SEAL: Final = 4096
LARGEST_PAYLOAD: Final = 128 << 20
SIGNATURE_BYTES: Final = 64
HEADER_KEYS: Final = {"alg", "kid"}


class State(Enum):
    """What a seal says of the bytes that it lies beside."""

    INTACT = "intact"
    CHANGED = "changed"
    UNKNOWN = "unknown"
    """Sealed with a key of no station that is known here."""
    NO_SEAL = "no seal"
    """What lies there has not the form of one."""


@frozen
class Seal:
    """The state, and the station where its key is known."""

    state: State
    station: Station | None = None


@frozen
class Signer:
    """A station that seals; `secret` is its private key, 32 bytes as base64url."""

    station: Station
    secret: str


def thumbprint(key: str) -> str:
    """The name of a public key: RFC 7638, by SHA-256, as base64url."""
    members = json.dumps({**CURVE, "x": key}, separators=(",", ":"), sort_keys=True)
    return to_base64url(hashlib.sha256(members.encode()).digest())


def make_seal(raw: bytes, signer: Signer) -> bytes:
    """The line that is kept beside these bytes."""
    head, _, signature = _sign(raw, signer)
    return f"{head}..{signature}\n".encode("ascii")


def sign_statement(raw: bytes, signer: Signer) -> bytes:
    """The line that holds these bytes and the signature over them."""
    return (".".join(_sign(raw, signer)) + "\n").encode("ascii")


def open_statement(line: bytes, stations: Iterable[Station]) -> tuple[bytes, Seal]:
    """What such a line holds, and what its signature says of it; nothing can make this raise."""
    try:
        head, content, signature = line.decode("ascii").removesuffix("\n").split(".")
        raw = from_base64url(content)
    except ValueError:
        return b"", Seal(state=State.NO_SEAL)
    return raw, check_seal(raw, f"{head}..{signature}".encode("ascii"), stations)


def _sign(raw: bytes, signer: Signer) -> tuple[str, str, str]:
    """Header, content and signature, each as base64url."""
    from joserfc import jws  # noqa: PLC0415 - only a station that has a key loads it
    from joserfc.jwk import OKPKey  # noqa: PLC0415 - as above

    public = signer.station.key
    key = OKPKey.import_key({**CURVE, "x": public, "d": signer.secret})
    header = {"alg": ALGORITHM, "kid": thumbprint(public)}
    with _quiet():
        whole = jws.serialize_compact(header, raw, key, registry=_registry())
    head, content, signature = whole.split(".")
    return head, content, signature


def check_seal(raw: bytes, seal: bytes, stations: Iterable[Station]) -> Seal:
    """What the seal says of these bytes; nothing in it can make this raise."""
    parts = _parts(seal)
    if parts is None:
        return Seal(state=State.NO_SEAL)
    head, signature, name = parts
    station = next((one for one in stations if thumbprint(one.key) == name), None)
    if station is None:
        return Seal(state=State.UNKNOWN)
    is_whole = _verifies(f"{head}.{to_base64url(raw)}.{signature}", station.key)
    return Seal(state=State.INTACT if is_whole else State.CHANGED, station=station)


def name_key(seal: bytes) -> str:
    """The name of the key that a seal says it is of; empty where it is no seal."""
    parts = _parts(seal)
    return parts[2] if parts else ""


def _parts(seal: bytes) -> tuple[str, str, str] | None:
    """Header and signature as they stand there, and the key's name; None where it is no seal."""
    try:
        head, empty, signature = seal.decode("ascii").removesuffix("\n").split(".")
        header: object = json.loads(from_base64url(head))
        is_whole = len(from_base64url(signature)) == SIGNATURE_BYTES
    except (ValueError, RecursionError):
        return None
    if empty or not is_whole or not is_table(header) or set(header) != HEADER_KEYS:
        return None
    name = header["kid"]
    if header["alg"] != ALGORITHM or not isinstance(name, str):
        return None
    return head, signature, name


def _verifies(whole: str, key: str) -> bool:
    from joserfc import jws  # noqa: PLC0415 - only where there is a seal to look at
    from joserfc.errors import BadSignatureError  # noqa: PLC0415 - as above
    from joserfc.jwk import OKPKey  # noqa: PLC0415 - as above

    public = OKPKey.import_key({**CURVE, "x": key})
    try:
        with _quiet():
            jws.deserialize_compact(whole, public, registry=_registry())
    except BadSignatureError:
        return False
    return True


def _registry() -> JWSRegistry:
    """The one algorithm; the library's own limit is 128 kB, and a report may be larger."""
    from joserfc.jws import JWSRegistry  # noqa: PLC0415 - only where there is a seal

    registry = JWSRegistry(algorithms=[ALGORITHM])
    registry.max_payload_length = LARGEST_PAYLOAD
    return registry


@contextmanager
def _quiet() -> Generator[None]:
    """Younger libraries warn of the name EdDSA alone: RFC 9864 has one that says more."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def to_base64url(raw: bytes) -> str:
    """RFC 7515, appendix C: without padding."""
    plain = binascii.b2a_base64(raw, newline=False).decode("ascii")
    return plain.rstrip("=").replace("+", "-").replace("/", "_")


def from_base64url(text: str) -> bytes:
    """The bytes; ValueError where it is not the one way to write them."""
    plain = text.replace("-", "+").replace("_", "/")
    raw = binascii.a2b_base64(plain + "=" * (-len(plain) % 4), strict_mode=True)
    if to_base64url(raw) != text:
        raise ValueError("not the one way to write it")
    return raw
