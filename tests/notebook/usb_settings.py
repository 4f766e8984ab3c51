"""The configuration of a device and the settings of its interfaces, as the emulator changes them.

Source: "USB Network Redirection protocol description", version 0.7, sections
usb_redir_set_configuration and usb_redir_set_alt_setting: after a change come the tables of
endpoints and interfaces, then the status.
"""

from collections.abc import Iterator

from notebook.usb_descriptors import Endpoint, Outline
from notebook.usb_messages import (
    TABLE_LINES,
    AlternateStatus,
    ConfigurationStatus,
    EndpointInfo,
    InterfaceInfo,
    Message,
    Status,
    Transfer,
    endpoint_line,
    table_column,
)


class Settings:
    """What is chosen at present: at first the configuration 1, and setting 0 of each interface."""

    def __init__(self, outline: Outline) -> None:
        self._outline = outline
        self._configuration = 1
        self._alternates: dict[int, int] = {}

    def transfer_of(self, address: int) -> Transfer:
        """How the endpoint of that address transfers; NONE where there is no such one now."""
        endpoints = self._endpoints()
        return endpoints[address][0].transfer if address in endpoints else Transfer.NONE

    def reset(self) -> None:
        """Every interface is in its first setting again (USB 2.0, section 9.1.1.3)."""
        self._alternates.clear()

    def configure(self, number: int) -> Iterator[Message]:
        """The answer to a choice of the configuration; 0 is none, and 1 the only one."""
        status = Status.SUCCESS if number in {0, 1} else Status.STALL
        if status is Status.SUCCESS:
            self._configuration = number
            self._alternates.clear()
            yield from self.tables()
        yield self.configuration(status)

    def configuration(self, status: Status = Status.SUCCESS) -> Message:
        """The present configuration."""
        return ConfigurationStatus(status=status, configuration=self._configuration)

    def change(self, interface: int, alternate: int) -> Iterator[Message]:
        """The answer to a choice of an interface's setting."""
        known = {(each.number, each.alternate) for each in self._outline.interfaces}
        status = Status.SUCCESS if (interface, alternate) in known else Status.STALL
        if status is Status.SUCCESS:
            self._alternates[interface] = alternate
            yield from self.tables()
        yield self.alternate(interface, status)

    def alternate(self, interface: int, status: Status = Status.SUCCESS) -> Message:
        """The present setting of an interface."""
        present = self._alternates.get(interface, 0)
        return AlternateStatus(status=status, interface=interface, alternate=present)

    def tables(self) -> Iterator[Message]:
        """The endpoints, then the interfaces, of the present settings."""
        yield self._endpoint_table()
        interfaces = self._outline.settings(self._alternates)
        yield InterfaceInfo(
            count=len(interfaces),
            numbers=table_column([each.number for each in interfaces]),
            classes=table_column([each.triple[0] for each in interfaces]),
            subclasses=table_column([each.triple[1] for each in interfaces]),
            protocols=table_column([each.triple[2] for each in interfaces]),
        )

    def _endpoint_table(self) -> EndpointInfo:
        """The two halves of the control endpoint, and every other that there is now."""
        lines = [(Transfer.NONE, 0, 0, 0)] * TABLE_LINES
        for address in (0x00, 0x80):
            lines[endpoint_line(address)] = (Transfer.CONTROL, 0, 0, 64)
        for address, (each, number) in self._endpoints().items():
            line = (each.transfer, each.interval, number, each.size)
            lines[endpoint_line(address)] = line
        transfers, intervals, interfaces, sizes = zip(*lines, strict=True)
        return EndpointInfo(
            transfers=bytes(transfers),
            intervals=bytes(intervals),
            interfaces=bytes(interfaces),
            sizes=b"".join(size.to_bytes(2, "little") for size in sizes),
        )

    def _endpoints(self) -> dict[int, tuple[Endpoint, int]]:
        return {
            endpoint.address: (endpoint, interface.number)
            for interface in self._outline.settings(self._alternates)
            for endpoint in interface.endpoints
        }
