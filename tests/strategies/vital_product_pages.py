"""Pages of vital product data, built byte by byte from their layouts (T10 SPC-4, SAT-3)."""


def unit_serial_page(serial: bytes) -> bytes:
    """Page 80h."""
    return bytes([0, 0x80]) + len(serial).to_bytes(2, "big") + serial


def ata_information_page(model: str, serial: str, firmware: str) -> bytes:
    """Page 89h with the answer to IDENTIFY DEVICE in it: 4 + 568 bytes."""
    identify = bytearray(512)
    for text, first, last in ((serial, 10, 20), (firmware, 23, 27), (model, 27, 47)):
        padded = text.ljust(2 * (last - first)).encode("latin-1")
        for index in range(0, len(padded), 2):
            word = first + index // 2
            identify[2 * word] = padded[index + 1]
            identify[2 * word + 1] = padded[index]
    body = bytearray(568)
    body[4:12] = b"linux   "
    body[12:28] = b"libata          "
    body[56:] = identify
    return bytes([0, 0x89]) + len(body).to_bytes(2, "big") + bytes(body)
