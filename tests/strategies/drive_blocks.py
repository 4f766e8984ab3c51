"""Blocks that drives answer with, built byte by byte from their layouts."""

from collections.abc import Mapping

from strategies.vital_product_pages import ata_information_page

BLOCK = 512


def with_sum(block: bytearray) -> bytes:
    """The block with a last byte that makes the sum of all zero."""
    block[511] = 0
    block[511] = -sum(block) % 256
    return bytes(block)


def nvme_health_log(**fields: int) -> bytes:
    """Log page 02h (NVM Express base specification 2.0, section 5.16.1.3), of a good drive."""
    told = {"temperature": 310, "spare": 100, "threshold": 10, **fields}
    log = bytearray(BLOCK)
    for name, value in told.items():
        at, size = NVME_FIELDS[name]
        log[at : at + size] = value.to_bytes(size, "little")
    return bytes(log)


NVME_FIELDS: Mapping[str, tuple[int, int]] = {
    "warning": (0, 1),
    "temperature": (1, 2),
    "spare": (3, 1),
    "threshold": (4, 1),
    "used": (5, 1),
    "endurance_group": (6, 1),
    "units_read": (32, 16),
    "units_written": (48, 16),
    "reads": (64, 16),
    "writes": (80, 16),
    "busy": (96, 16),
    "cycles": (112, 16),
    "hours": (128, 16),
    "unsafe": (144, 16),
    "media_errors": (160, 16),
    "errors": (176, 16),
    "warm_minutes": (192, 4),
    "hot_minutes": (196, 4),
    **{f"sensor_{index + 1}": (200 + 2 * index, 2) for index in range(8)},
    "throttled_1": (216, 4),
    "throttled_2": (220, 4),
    "seconds_1": (224, 4),
    "seconds_2": (228, 4),
}


def identify_device(
    model: str = "Norvik S4 Drive",
    serial: str = "SK440718",
    firmware: str = "0B6Q",
    words: Mapping[int, int] | None = None,
    *,
    signed: bool = True,
) -> bytes:
    """An answer to IDENTIFY DEVICE (T13 ACS-3, section 7.12.7): a SATA drive with SMART on.

    Its texts are those of page 89h of the vital product data, which holds the same block.
    """
    block = bytearray(ata_information_page(model, serial, firmware)[60 : 60 + BLOCK])
    plain = {76: 0x000E, 77: 0x0006, 80: 0x07F0, 82: 0x0001, 83: 0x4000, 85: 0x0001, 87: 0x4000}
    for word, value in {**plain, 217: 1, **(words or {})}.items():
        block[2 * word : 2 * word + 2] = value.to_bytes(2, "little")
    if not signed:
        return bytes(block)
    block[510] = 0xA5
    return with_sum(block)


def information_page(identify: bytes) -> bytes:
    """Page 89h with this answer in it (T10 SAT-3)."""
    page = ata_information_page("", "", "")
    return page[:60] + identify + page[60 + BLOCK :]


def smart_block(*entries: tuple[int, int, int, int, int]) -> bytes:
    """SMART READ DATA with attributes: number, flags, value, worst, raw (SFF-8035i)."""
    block = bytearray(BLOCK)
    block[0] = 1
    for index, (number, flags, value, worst, raw) in enumerate(entries):
        at = 2 + 12 * index
        block[at : at + 5] = bytes((number, flags, 0, value, worst))
        block[at + 5 : at + 11] = raw.to_bytes(6, "little")
    return with_sum(block)


def threshold_block(thresholds: Mapping[int, int]) -> bytes:
    """SMART READ THRESHOLDS (SFF-8035i)."""
    block = bytearray(BLOCK)
    block[0] = 1
    for index, (number, least) in enumerate(thresholds.items()):
        block[2 + 12 * index] = number
        block[3 + 12 * index] = least
    return with_sum(block)
