"""OpenSSL: it knows no JSON Web Signatures, and checks Ed25519 over the bytes it is given."""

import base64
import shutil
import subprocess
from pathlib import Path
from typing import Final

PROGRAM: Final = "openssl"
PUBLIC_KEY: Final = bytes.fromhex("302a300506032b6570032100")
"""What stands before the 32 bytes of a public key in DER (RFC 8410, section 4)."""


def reason_to_skip() -> str:
    return "" if shutil.which(PROGRAM) else "not installed: openssl"


def verifies(folder: Path, signed: bytes, signature: bytes, key: bytes) -> bool:
    """Whether the signature is of these bytes, by the raw public key."""
    body = base64.encodebytes(PUBLIC_KEY + key).decode()
    files = {
        "key.pem": f"-----BEGIN PUBLIC KEY-----\n{body}-----END PUBLIC KEY-----\n".encode(),
        "signed": signed,
        "signature": signature,
    }
    for name, content in files.items():
        (folder / name).write_bytes(content)
    told = subprocess.run(
        (
            *(PROGRAM, "pkeyutl", "-verify", "-pubin", "-inkey", "key.pem", "-rawin"),
            *("-in", "signed", "-sigfile", "signature"),
        ),
        cwd=folder,
        capture_output=True,
        check=False,
    )
    return told.returncode == 0


def checks_private_key(folder: Path, pem: bytes, passphrase: str = "") -> bytes:
    """The raw public key of a private one, as OpenSSL works it out."""
    (folder / "private.pem").write_bytes(pem)
    told = subprocess.run(
        (
            *(PROGRAM, "pkey", "-in", "private.pem", "-pubout", "-outform", "DER"),
            *(("-passin", f"pass:{passphrase}") if passphrase else ()),
        ),
        cwd=folder,
        capture_output=True,
        check=True,
    )
    return told.stdout.removeprefix(PUBLIC_KEY)
