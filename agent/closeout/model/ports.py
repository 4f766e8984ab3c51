"""Sockets and what joins them: USB ports, Type-C ports, Thunderbolt routers."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class TypeCPort(Device):
    """One USB Type-C port as its controller shows it (kernel class typec)."""

    port_type: Reading[str] = field(metadata=about("what the port is made for: dual, source, sink"))
    data_role: Reading[str] = field(metadata=about("data role now: host or device"))
    power_role: Reading[str] = field(metadata=about("power role now: source or sink"))
    operation_mode: Reading[str] = field(metadata=about("how power is agreed on"))
    orientation: Reading[str] = field(metadata=about("which way round the plug is in"))
    delivery_revision: Reading[str] = field(
        metadata=about("revision of USB Power Delivery that the port speaks", Shape.VERSION)
    )
    partner: Reading[bool] = field(metadata=about("something is plugged in", Shape.FLAG))
    accessory: Reading[str] = field(metadata=about("accessory mode of what is plugged in"))
    cable: Reading[bool] = field(metadata=about("the cable tells what it is", Shape.FLAG))


@frozen
class UsbPort(Device):
    """One port of a USB hub; of the root hubs these are the unit's own."""

    connect_type: Reading[str] = field(
        metadata=about("hotplug: a socket; hardwired: leads to a part inside; not used")
    )
    device: Reading[str] = field(metadata=about("what is plugged in, by the kernel's name"))
    state: Reading[str] = field(metadata=about("state of the port (USB 2.0, section 9.1)"))
    peer: Reading[str] = field(
        metadata=about("the port of the other speed that shares its connector")
    )
    location: Reading[str] = field(metadata=about("place of the connector by the firmware"))
    over_current_count: Reading[int] = field(
        metadata=about("times that too much current was drawn", Shape.INTEGER)
    )
    disabled: Reading[bool] = field(metadata=about("switched off", Shape.FLAG))


@frozen
class Thunderbolt(Device):
    """One Thunderbolt or USB4 router: the unit's own, or of a device that is plugged in."""

    security: Reading[str] = field(metadata=about("security level of its domain"))
    authorised: Reading[bool] = field(metadata=about("its PCI tunnels may be used", Shape.FLAG))
    generation: Reading[int] = field(
        metadata=about("generation of Thunderbolt; 4 is USB4", Shape.INTEGER)
    )
    ids: Reading[str] = field(metadata=about("vendor:device, four hex digits each"))
    vendor_name: Reading[str] = field(metadata=about("vendor by its own string"))
    device_name: Reading[str] = field(metadata=about("device by its own string"))
    firmware: Reading[str] = field(
        metadata=about("version of its non-volatile memory", Shape.VERSION)
    )
    unique_id: Reading[str] = field(metadata=about("its own number", personal=True))
