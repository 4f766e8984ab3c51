"""Binary Device Object Stores built byte by byte (USB 3.2, section 9.6.2)."""

EXTENSION = (0x02, bytes.fromhex("02000000"))
"""USB 2.0 Extension: Link Power Management."""
SUPER_SPEED = (0x03, bytes.fromhex("000e000300ff07"))


def store(*capabilities: tuple[int, bytes]) -> bytes:
    """A store with these capabilities, each a code and what stands behind it."""
    parts = [bytes([3 + len(rest), 0x10, code]) + rest for code, rest in capabilities]
    body = b"".join(parts)
    return bytes([5, 0x0F]) + (5 + len(body)).to_bytes(2, "little") + bytes([len(parts)]) + body
