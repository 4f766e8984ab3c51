"""What a device answers to a request on its control endpoint.

Source: USB 2.0, sections 9.3 and 9.4; the requests of a class are in `usb_video` and
`usb_bluetooth`. Address, configuration and alternate settings never come this way: the redirection
protocol has packets of their own for them.
"""

from typing import Final

from notebook.description import UsbDevice
from notebook.usb_descriptors import descriptor
from notebook.usb_messages import Control
from notebook.usb_video import answer_video_request

TOWARDS_HOST: Final = 0x80
KIND: Final = 0x60
STANDARD: Final = 0x00
CLASS: Final = 0x20

GET_STATUS: Final = 0
GET_DESCRIPTOR: Final = 6


def answer_request(device: UsbDevice, request: Control) -> bytes | None:
    """The data towards the host, empty for the other direction; None is a stall."""
    kind = request.request_type & KIND
    if kind not in {STANDARD, CLASS}:
        return None
    if not is_towards_host(request):
        return b""
    if kind == CLASS:
        is_camera = device.kind == "camera"
        video = (request.request, request.value, request.index)
        return answer_video_request(*video) if is_camera else None
    if request.request == GET_DESCRIPTOR:
        return descriptor(device, request.value >> 8, request.value & 0xFF)
    return bytes(2) if request.request == GET_STATUS else None


def is_towards_host(request: Control) -> bool:
    """The data, if any, go from the device to the host."""
    return bool(request.request_type & TOWARDS_HOST)


def is_command(device: UsbDevice, request: Control) -> bool:
    """The data are a command to a Bluetooth controller."""
    return device.kind == "bluetooth" and request.request_type & (KIND | TOWARDS_HOST) == CLASS
