"""A whole invented notebook drawn as the kernel shows one: a plan becomes a tree.

The paths and formats follow the kernel's ABI documents (`Documentation/ABI/`): sysfs-firmware-dmi,
sysfs-class-power, sysfs-class-drm and the like. Makers, models, drivers and ids are invented;
`nvme`, `uvcvideo`, `btusb`, `xhci_hcd` and `hub` are names that the kernel forces.
"""

import uuid as uuids
from dataclasses import dataclass, field

from strategies import smbios
from strategies.drawn_opinions import (
    draw_charge,
    draw_disk,
    draw_disks,
    draw_interfaces,
    draw_memory,
    draw_processor,
    draw_sensors,
    draw_udev_file,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.drive_blocks import nvme_health_log
from strategies.edid import EdidPlan, build_edid
from strategies.inputs import KEYBOARD, LID, TOUCHPAD, draw_input
from strategies.notebook_cards import (
    DRIVE,
    GRAPHICS,
    RADIO_ADDRESS,
    draw_pci,
    draw_radio,
    text,
)
from strategies.notebook_core import MODEL, draw_blocks, draw_processor_threads, draw_tpm
from strategies.notebook_ports import draw_parts, draw_ports, draw_rules
from strategies.notebook_sound import draw_camera, draw_sound
from strategies.notebook_time import draw_time_and_trouble
from strategies.notebook_usb import UsbPlan, draw_usb

GIB = 1 << 30
EFI_GLOBAL = "8be4df61-93ca-11d2-aa0d-00e098032b8c"
CHARGE = 80
SUPPLIES = "sys/devices/platform/power-rail"
MONITOR = "sys/devices/platform/fen-monitor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """A memory socket; no size leaves it empty."""

    locator: str
    gib: int
    maker: str = "Gramsey"
    part: str = "GM-08S3200"
    serial: str = "61A2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A battery pack that counts in energy."""

    model: str
    serial: str
    design_mwh: int
    full_mwh: int
    cycles: int
    maker: str = "Voltarn"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is in the notebook; None leaves a field blank or a part out."""

    maker: str | None
    product: str | None
    version: str | None
    serial: str | None
    uuid: uuids.UUID | None
    sku: str | None
    family: str | None
    asset_tag: str | None
    board: str
    board_serial: str | None
    firmware: str
    firmware_date: str
    modules: tuple[Module, ...]
    packs: tuple[Pack, ...]
    licence: bytes | None
    drive_model: str
    drive_serial: str
    drive_gib: int
    usb: tuple[UsbPlan, ...]
    radio: bool = True
    panel: bytes = build_edid(EdidPlan())
    unset_uuid: bytes = b"\xff" * 16
    more: dict[str, Content] = field(default_factory=dict)


def _draw_hands_eyes_and_ears(files: dict[str, Content], links: dict[str, str]) -> None:
    for device in (KEYBOARD, TOUCHPAD, LID):
        draw_input(device, files, links)
    draw_sound(files, links)
    draw_camera(files, links)


def draw_notebook(plan: Plan) -> DrawnTree:
    """The tree of a notebook as root sees it."""
    files: dict[str, Content] = {}
    links: dict[str, str] = {}
    answers: dict[str, Content] = {}
    _draw_identity(plan, files)
    _draw_firmware(plan, files)
    _draw_memory(plan, files)
    draw_processor_threads(files)
    draw_tpm(files, links)
    _draw_supplies(plan, files, links)
    _draw_monitor(files, links)
    _draw_display(plan, files, links)
    _draw_drive(plan, files, links, answers)
    draw_usb(plan.usb, files, links)
    _draw_hands_eyes_and_ears(files, links)
    draw_pci(files, links, answers, radio=plan.radio)
    if plan.radio:
        draw_radio(files, links)
    draw_ports(files, links, (device.port for device in plan.usb))
    draw_parts(files, links)
    draw_rules(files, answers)
    _draw_opinions(plan, files, answers)
    draw_time_and_trouble(files, links, answers, DRIVE)
    files.update(plan.more)
    return DrawnTree(
        files=files,
        links=links,
        answers=answers,
        folders=(
            "sys/class/net",
            "sys/class/ieee80211",
            "sys/class/rfkill",
            "sys/class/bluetooth",
            "sys/fs/pstore",
        ),
    )


def table_of(plan: Plan) -> bytes:
    """The SMBIOS table of the notebook (DMTF DSP0134)."""
    raw_uuid = plan.uuid.bytes_le if plan.uuid else plan.unset_uuid
    structures = [
        smbios.bios(
            vendor=plan.maker or "Fenwick Firmware",
            version=plan.firmware,
            date=plan.firmware_date,
            release=(1, 4),
            ec_release=(1, 9),
        ),
        smbios.system(
            manufacturer=plan.maker,
            product=plan.product,
            version=plan.version,
            serial=plan.serial,
            uuid=raw_uuid,
            sku=plan.sku,
            family=plan.family,
        ),
        smbios.board(
            manufacturer=plan.maker, product=plan.board, version="C", serial=plan.board_serial
        ),
        smbios.chassis(
            manufacturer=plan.maker, serial=plan.serial, asset_tag=plan.asset_tag, version="1"
        ),
        smbios.oem_strings([b"region=EU"]),
        smbios.memory_array(handle=16, devices=len(plan.modules)),
        *(_module(module, index) for index, module in enumerate(plan.modules)),
        smbios.hardware_security(0b00_10_00_10),
        smbios.end_of_table(),
    ]
    return smbios.build_table(structures)


def _module(module: Module, index: int) -> bytes:
    handle = 0x20 + index
    bank = f"BANK {index}"
    if not module.gib:
        return smbios.memory_device(
            handle=handle,
            locator=module.locator,
            bank_locator=bank,
            size=0,
            memory_type=2,
            speed=0,
            configured_speed=0,
        )
    return smbios.memory_device(
        handle=handle,
        locator=module.locator,
        bank_locator=bank,
        size=module.gib * 1024,
        manufacturer=module.maker,
        serial=module.serial,
        part_number=module.part,
    )


def _draw_identity(plan: Plan, files: dict[str, Content]) -> None:
    table = table_of(plan)
    tables = "sys/firmware/dmi/tables"
    files[f"{tables}/smbios_entry_point"] = smbios.build_entry_point((3, 3), len(table), 0x76000000)
    files[f"{tables}/DMI"] = table
    view: dict[str, str | None] = {
        "bios_vendor": plan.maker or "Fenwick Firmware",
        "bios_version": plan.firmware,
        "bios_date": plan.firmware_date,
        "bios_release": "1.4",
        "ec_firmware_release": "1.9",
        "sys_vendor": plan.maker,
        "product_name": plan.product,
        "product_version": plan.version,
        "product_serial": plan.serial,
        "product_sku": plan.sku,
        "product_family": plan.family,
        "board_vendor": plan.maker,
        "board_name": plan.board,
        "board_version": "C",
        "board_serial": plan.board_serial,
        "board_asset_tag": None,
        "chassis_vendor": plan.maker,
        "chassis_type": "10",
        "chassis_version": "1",
        "chassis_serial": plan.serial,
        "chassis_asset_tag": plan.asset_tag,
    }
    if plan.uuid:
        view["product_uuid"] = str(plan.uuid)
    for name, content in view.items():
        files[f"sys/class/dmi/id/{name}"] = text(content or "")


def _draw_firmware(plan: Plan, files: dict[str, Content]) -> None:
    for name in ("APIC", "DSDT", "FACP"):
        files[f"sys/firmware/acpi/tables/{name}"] = b"not read\n"
    if plan.licence is not None:
        files["sys/firmware/acpi/tables/MSDM"] = plan.licence
    files["sys/firmware/efi/fw_platform_size"] = text(64)
    variables = "sys/firmware/efi/efivars"
    files[f"{variables}/SecureBoot-{EFI_GLOBAL}"] = bytes([6, 0, 0, 0, 1])
    files[f"{variables}/SetupMode-{EFI_GLOBAL}"] = bytes([6, 0, 0, 0, 0])
    files["proc/cmdline"] = text("quiet closeout.stick=2026.11-1")
    files["proc/sys/kernel/osrelease"] = text("6.12.0-demo")


def _draw_memory(plan: Plan, files: dict[str, Content]) -> None:
    files["proc/meminfo"] = text(
        f"MemTotal:       {_kernel_kib(plan)} kB\nMemFree:         1000000 kB"
    )
    draw_blocks(files, sum(module.gib for module in plan.modules) * 1024)


def _kernel_kib(plan: Plan) -> int:
    """What firmware and kernel leave of the modules."""
    return sum(module.gib for module in plan.modules) * GIB // 1024 * 95 // 100


def _draw_opinions(plan: Plan, files: dict[str, Content], answers: dict[str, Content]) -> None:
    """What libraries say of the notebook, in agreement with its files."""
    answers["psutil virtual_memory"] = draw_memory(_kernel_kib(plan))
    answers["psutil net_if_addrs"] = draw_interfaces({"wlan0": RADIO_ADDRESS} if plan.radio else {})
    answers["psutil sensors_temperatures"] = draw_sensors(fenmon={"": 41.0})
    answers["psutil sensors_fans"] = draw_sensors(fenmon={"": 2215})
    answers["psutil sensors_battery"] = draw_charge(CHARGE if plan.packs else None)
    model = plan.drive_model.replace(" ", "_")
    files["run/udev/data/b259:0"] = draw_udev_file(model, plan.drive_serial)
    answers["cpuinfo get_processor_brand"] = draw_processor(MODEL)
    answers["pyudev block"] = draw_disks(draw_disk("nvme0n1", model, plan.drive_serial))


def _draw_monitor(files: dict[str, Content], links: dict[str, str]) -> None:
    """A chip that measures one temperature and one fan."""
    chip = f"{MONITOR}/hwmon/hwmon0"
    links["sys/class/hwmon/hwmon0"] = chip
    links[f"{chip}/device"] = MONITOR
    for name, content in {"name": "fenmon", "temp1_input": 41000, "fan1_input": 2215}.items():
        files[f"{chip}/{name}"] = text(content)


def _draw_supplies(plan: Plan, files: dict[str, Content], links: dict[str, str]) -> None:
    for index, pack in enumerate(plan.packs):
        folder = f"{SUPPLIES}/pack{index}/power_supply/BAT{index}"
        links[f"sys/class/power_supply/BAT{index}"] = folder
        attributes = {
            "type": "Battery",
            "present": 1,
            "status": "Not charging",
            "technology": "Li-ion",
            "manufacturer": pack.maker,
            "model_name": pack.model,
            "serial_number": pack.serial,
            "cycle_count": pack.cycles,
            "energy_full_design": pack.design_mwh * 1000,
            "energy_full": pack.full_mwh * 1000,
            "energy_now": pack.full_mwh * 10 * CHARGE,
            "capacity": CHARGE,
            "voltage_now": 12_140_000,
            "voltage_min_design": 11_550_000,
        }
        for name, content in attributes.items():
            files[f"{folder}/{name}"] = text(content)
    adapter = f"{SUPPLIES}/adapter/power_supply/ADP0"
    links["sys/class/power_supply/ADP0"] = adapter
    files[f"{adapter}/type"] = text("Mains")
    files[f"{adapter}/online"] = text(1)


def _draw_display(plan: Plan, files: dict[str, Content], links: dict[str, str]) -> None:
    connector = f"{GRAPHICS}/drm/card1/card1-eDP-1"
    links["sys/class/drm/card1"] = f"{GRAPHICS}/drm/card1"
    links["sys/class/drm/card1-eDP-1"] = connector
    files[f"{connector}/status"] = text("connected")
    files[f"{connector}/edid"] = plan.panel
    files[f"{connector}/enabled"] = text("enabled")
    files[f"{connector}/modes"] = text("1920x1080")
    socket = f"{GRAPHICS}/drm/card1/card1-HDMI-A-1"
    links["sys/class/drm/card1-HDMI-A-1"] = socket
    files[f"{socket}/status"] = text("disconnected")
    files[f"{socket}/edid"] = b""
    light = f"{connector}/panel_light"
    links["sys/class/backlight/panel_light"] = light
    for name, content in (
        ("type", "raw"),
        ("brightness", 480),
        ("actual_brightness", 480),
        ("max_brightness", 960),
    ):
        files[f"{light}/{name}"] = text(content)


def _draw_drive(
    plan: Plan,
    files: dict[str, Content],
    links: dict[str, str],
    answers: dict[str, Content],
) -> None:
    controller = f"{DRIVE}/nvme/nvme0"
    links["sys/class/nvme/nvme0"] = controller
    links[f"{controller}/device"] = DRIVE
    files[f"{controller}/model"] = text(plan.drive_model.ljust(40))
    files[f"{controller}/serial"] = text(plan.drive_serial.ljust(20))
    files[f"{controller}/firmware_rev"] = text("PF1.20".ljust(8))
    files[f"{controller}/state"] = text("live")
    files[f"{controller}/transport"] = text("pcie")
    space = f"{controller}/nvme0n1"
    links["sys/block/nvme0n1"] = space
    links["sys/class/block/nvme0n1"] = space
    links[f"{space}/device"] = controller
    files[f"{space}/size"] = text(plan.drive_gib * GIB // 512)
    files[f"{space}/removable"] = text(0)
    files[f"{space}/dev"] = text("259:0")
    files[f"{space}/queue/rotational"] = text(0)
    answers["nvme smart-log nvme0"] = nvme_health_log(used=2, hours=411, cycles=96)
    answers["opal status nvme0n1"] = bytes(8)
    for end in (DRIVE, DRIVE.rpartition("/")[0]):
        for name, content in (("link_speed", "8.0 GT/s PCIe"), ("link_width", 4)):
            files[f"{end}/current_{name}"] = files[f"{end}/max_{name}"] = text(content)
