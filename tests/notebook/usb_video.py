"""What a camera says in the language of the video class, and the picture that it shows.

Source: USB Device Class Definition for Video Devices 1.1 (tables 3-3 to 3-15, 4-47, 2-5), its
payload format Motion-JPEG 1.1 (tables 3-1, 3-2), ITU-T T.81 for the picture.

One lens, one stream, one format: Motion-JPEG, 640 x 360, ten pictures a second.
"""

from collections.abc import Iterator
from struct import Struct, pack
from typing import Final

STREAM_INTERFACE: Final = 1
STREAM_ENDPOINT: Final = 0x81
STREAM_PACKET: Final = 1024
STREAM_INTERVAL: Final = 6
"""A packet every 2 ** 5 microframes: each costs the emulated machine time."""
PACKETS_A_SECOND: Final = 250
PACKETS_A_PICTURE: Final = 25

WIDTH: Final = 640
HEIGHT: Final = 360
LENS: Final = 1
"""The unit whose picture the stream takes."""
STREAM: Final = 2
PICTURE_INTERVAL: Final = 1_000_000
"""Of 100 ns."""
LARGEST_PICTURE: Final = 16_384
BITS_A_SECOND: Final = LARGEST_PICTURE * 8 * 10

PROBE: Final = Struct("<HBBIHHHHHIIIBBBB")
PROBE_ANSWER: Final = PROBE.pack(
    1, 1, 1, PICTURE_INTERVAL, 0, 0, 0, 0, 0, LARGEST_PICTURE, STREAM_PACKET, 48_000_000, 3, 1, 1, 1
)
PROBE_CONTROL: Final = 1
COMMIT_CONTROL: Final = 2
GET_LENGTH: Final = 0x85
GET_ABILITIES: Final = 0x86

PAYLOAD_HEADER: Final = 2
TOGGLE: Final = 0x01
LAST: Final = 0x02
HEADER_ENDS: Final = 0x80


def _control_interface() -> bytes:
    lens = pack("<BBBBHBBHHHB3s", 18, 0x24, 2, LENS, 0x0201, 0, 0, 0, 0, 0, 3, bytes(3))
    stream = pack("<BBBBHBBB", 9, 0x24, 3, STREAM, 0x0101, 0, LENS, 0)
    length = 13 + len(lens) + len(stream)
    head = pack("<BBBHHIBB", 13, 0x24, 1, 0x0110, length, 48_000_000, 1, STREAM_INTERFACE)
    return head + lens + stream


def _streaming_interface() -> bytes:
    kind = bytes([11, 0x24, 6, 1, 1, 1, 1, 0, 0, 0, 0])
    size = pack("<BBBBBHH", 30, 0x24, 7, 1, 0, WIDTH, HEIGHT)
    size += pack(
        "<IIIIBI",
        BITS_A_SECOND,
        BITS_A_SECOND,
        LARGEST_PICTURE,
        PICTURE_INTERVAL,
        1,
        PICTURE_INTERVAL,
    )
    length = 14 + len(kind) + len(size)
    head = pack("<BBBBHBBBBBBBB", 14, 0x24, 1, 1, length, STREAM_ENDPOINT, 0, STREAM, 0, 0, 0, 1, 0)
    return head + kind + size


CONTROL_INTERFACE: Final = _control_interface()
STREAMING_INTERFACE: Final = _streaming_interface()


def answer_video_request(request: int, value: int, index: int) -> bytes | None:
    """What the camera answers to a request of its class towards the host; None is a stall.

    Only the stream is negotiated (section 4.3.1.1), and there is one answer to all proposals.
    """
    if index & 0xFF != STREAM_INTERFACE or value >> 8 not in {PROBE_CONTROL, COMMIT_CONTROL}:
        return None
    if request == GET_LENGTH:
        return pack("<H", PROBE.size)
    if request == GET_ABILITIES:
        return b"\x03"
    return PROBE_ANSWER


def grey_picture() -> bytes:
    """A whole JPEG file of a grey rectangle: each block is two bits, no change and no detail."""
    table = b"\xff\xdb\x00\x43\x00" + b"\x10" * 64
    frame = pack(">HHBHHBBBB", 0xFFC0, 11, 8, HEIGHT, WIDTH, 1, 1, 0x11, 0)
    codes = b"".join(
        pack(">HHB16sB", 0xFFC4, 20, kind << 4, b"\x01".ljust(16, b"\0"), 0) for kind in (0, 1)
    )
    scan = pack(">HHBBBBBB", 0xFFDA, 8, 1, 1, 0, 0, 63, 0)
    blocks = bytes(WIDTH // 8 * (HEIGHT // 8) * 2 // 8)
    return b"\xff\xd8" + table + frame + codes + scan + blocks + b"\xff\xd9"


def picture_payloads(toggle: int) -> Iterator[bytes]:
    """The packets of one picture, idle ones at its end (section 2.4.3.3: header, then data)."""
    picture = grey_picture()
    room = STREAM_PACKET - PAYLOAD_HEADER
    pieces = [picture[start : start + room] for start in range(0, len(picture), room)]
    for place, piece in enumerate(pieces, start=1):
        last = LAST if place == len(pieces) else 0
        yield bytes([PAYLOAD_HEADER, HEADER_ENDS | last | toggle]) + piece
    for _ in range(PACKETS_A_PICTURE - len(pieces)):
        yield bytes([PAYLOAD_HEADER, HEADER_ENDS | toggle ^ TOGGLE])
