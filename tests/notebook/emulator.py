"""The emulator's command line: a description and a folder of built files become arguments.

Every device has a fixed place, so that nothing moves when another is left out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from notebook import acpi_source, tray
from notebook.description import Drive, Notebook
from notebook.image import Image
from notebook.usb_arguments import usb_arguments

PROGRAM: Final = "qemu-system-x86_64"
CONNECTOR: Final = "Virtual-1"
"""What the kernel calls the only connector of the emulated graphics card."""
PANEL_FILE: Final = "edid/panel.bin"
QUICK: Final = (
    "nokaslr mitigations=off cryptomgr.notests=1 random.trust_cpu=on audit=0 ima=off apparmor=0"
    " lsm= nowatchdog no_timer_check"
)
"""Kernel options that only save time (measured in emulation: three seconds in all)."""
KEPT: Final = "retain_initrd"
"""Laid in memory as here, the initial file system is no memory that the kernel can take back: it
finds those pages in use already and says so in fifty reports of a bad page, each with a trace."""
IN_TURNS: Final = "tcg,thread=single"
"""The notebook's two processors on one of the host's, in turns. Of two notebooks that start side by
side on two processors each then takes 32 s of processor time until its verdict, not 41: with a
thread each, the one waits for a lock that the other cannot give back, because it has no turn."""
FIRMWARE: Final = {
    "uefi": (Path("/usr/share/OVMF/OVMF_CODE_4M.fd"), Path("/usr/share/OVMF/OVMF_VARS_4M.fd")),
    "secure-boot": (
        Path("/usr/share/OVMF/OVMF_CODE_4M.secboot.fd"),
        Path("/usr/share/OVMF/OVMF_VARS_4M.snakeoil.fd"),
    ),
}
"""Code and first variables; in the second, keys are enrolled and Secure Boot is on."""
NVME_SLOTS: Final = (0x03, 0x08, 0x09)
MOST_DRIVES: Final = len(NVME_SLOTS)
INITIAL_AT: Final = 0x2000_0000
"""Where in memory the initial RAM file system is laid. Handed over by the emulator it would come to
lie right below the end of memory, where firmware leaves tables; and UEFI with a TPM would measure
it, which takes twenty seconds in emulation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The files of one run; all lie in its folder."""

    folder: Path

    @property
    def ram(self) -> Path:
        """The guest's memory, which the host may write."""
        return self.folder / "ram"

    @property
    def initial(self) -> Path:
        """The initial RAM file system, with this notebook's own files."""
        return self.folder / "initial.cpio"

    @property
    def ssdt(self) -> Path:
        """The ACPI devices."""
        return self.folder / "notebook.aml"

    @property
    def licence(self) -> Path:
        """The licence key table."""
        return self.folder / "msdm.bin"

    @property
    def variables(self) -> Path:
        """The UEFI variables."""
        return self.folder / "variables.fd"

    @property
    def orders(self) -> Path:
        """The socket that takes orders for the emulator."""
        return self.folder / "orders.sock"

    @property
    def session(self) -> Path:
        """The socket of the guest's session."""
        return self.folder / "session.sock"

    @property
    def console(self) -> Path:
        """The socket of the guest's console."""
        return self.folder / "console.sock"

    @property
    def tpm(self) -> Path:
        """The socket of the TPM."""
        return self.folder / "tpm.sock"

    def structure(self, index: int) -> Path:
        """One SMBIOS structure."""
        return self.folder / f"smbios-{index:02}.bin"

    def drive(self, name: str) -> Path:
        """The contents of a drive."""
        return self.folder / f"drive-{name}.raw"


def emulator_command(
    notebook: Notebook,
    image: Image,
    places: Places,
    structures: int,
    pulled: frozenset[str] = frozenset(),
) -> tuple[str, ...]:
    """The whole command; drives that are `pulled` have their slot, and are not in it."""
    return tuple(_arguments(notebook, image, places, structures, pulled))


def drive_device(name: str, drive: Drive) -> dict[str, str]:
    """An NVMe drive in its slot, as the emulator is told of it."""
    return {
        "driver": "nvme",
        "id": name,
        "drive": f"disk-{name}",
        "serial": drive.serial,
        "bus": f"{name}-slot",
        "smart_critical_warning": str(drive.critical_warning),
    }


def kernel_options(notebook: Notebook) -> str:
    """The kernel's command line."""
    options = ["console=ttyS0 quiet panic=-1", QUICK, KEPT]
    options += [*acpi_source.KERNEL_OPTIONS, *tray.KERNEL_OPTIONS]
    if notebook.panel and notebook.panel.connected:
        options.append(f"drm.edid_firmware={CONNECTOR}:{PANEL_FILE}")
    else:
        options.append(f"video={CONNECTOR}:d")
    return " ".join(options)


def _arguments(
    notebook: Notebook, image: Image, places: Places, structures: int, pulled: frozenset[str]
) -> Iterator[str]:
    yield PROGRAM
    yield from _machine(notebook, image, places)
    for index in range(structures):
        yield from ("-smbios", f"file={places.structure(index)}")
    yield from ("-acpitable", f"file={places.ssdt}")
    if notebook.licence:
        yield from ("-acpitable", f"file={places.licence}")
    yield from ("-device", "VGA,edid=on,xres=1920,yres=1080,vgamem_mb=32,addr=1")
    yield from _slots()
    for index, (name, drive) in enumerate(notebook.drive.items()):
        yield from _drive(name, drive, index, places)
        if drive.bus == "nvme" and name not in pulled:
            yield from ("-device", _joined(drive_device(name, drive)))
        if drive.bus == "raid":
            yield from ("-device", f"megasas-gen2,id={name},bus={name}-slot")
            yield from (
                "-device",
                f"scsi-hd,drive=disk-{name},bus={name}.0,serial={drive.serial}",
            )
    yield from _cards(notebook, places)
    yield from usb_arguments(notebook.usb, places.folder)
    if notebook.tpm:
        yield from ("-chardev", f"socket,id=tpmc,path={places.tpm}")
        yield from ("-tpmdev", "emulator,id=tpm0,chardev=tpmc")
        yield from ("-device", "tpm-crb,tpmdev=tpm0")


def _machine(notebook: Notebook, image: Image, places: Places) -> Iterator[str]:
    size = f"{notebook.memory_mib}M"
    kinds = "q35,memory-backend=m0,hpet=off"
    kinds += ",smm=on" if notebook.firmware == "secure-boot" else ""
    kinds += "" if notebook.keyboard else ",i8042=off"
    yield from ("-machine", kinds, "-accel", IN_TURNS, "-smp", "2", "-m", size)
    model = notebook.processor.version.replace(",", ",,")
    yield from ("-cpu", f"Skylake-Client,hypervisor=off,model-id={model}")
    yield from (
        "-object",
        f"memory-backend-file,id=m0,size={size},mem-path={places.ram},share=on",
    )
    yield from ("-nodefaults", "-no-user-config", "-display", "none", "-no-reboot")
    yield from ("-rtc", f"base={notebook.clock:%Y-%m-%dT%H:%M:%S}")
    for name, socket in (("console", places.console), ("session", places.session)):
        yield from ("-chardev", f"socket,id={name},path={socket},server=on,wait=off")
        yield from ("-serial", f"chardev:{name}")
    yield from ("-qmp", f"unix:{places.orders},server=on,wait=off")
    if notebook.firmware != "bios":
        code, _ = FIRMWARE[notebook.firmware]
        yield from (
            "-drive",
            f"if=pflash,unit=0,readonly=on,format=raw,file={code}",
            "-drive",
            f"if=pflash,unit=1,format=raw,file={places.variables}",
        )
    if notebook.firmware == "secure-boot":
        yield from ("-global", "driver=cfi.pflash01,property=secure,value=on")
        yield from ("-global", "ICH9-LPC.disable_s3=1")
    kernel = image.vmlinux if notebook.firmware == "bios" else image.vmlinuz
    there = f"initrdmem={INITIAL_AT:#x},{places.initial.stat().st_size:#x}"
    yield from ("-kernel", str(kernel), "-append", f"{kernel_options(notebook)} {there}")


def _slots() -> Iterator[str]:
    """Slots that things can be pulled out of: drives, network, card reader, sound."""
    for index, name in enumerate(("wired", "card", "sound")):
        number = MOST_DRIVES + index + 1
        yield "-device"
        yield (
            f"pcie-root-port,id={name}-slot,chassis={number},slot={number},addr=4.{index}"
            ",multifunction=on,x-speed=2_5,x-width=1"
        )


def _drive(name: str, drive: Drive, index: int, places: Places) -> Iterator[str]:
    yield from ("-drive", f"if=none,id=disk-{name},format=raw,file={places.drive(name)}")
    if drive.bus == "sata":
        told = f",model={drive.model}" if drive.model else ""
        told += f",ver={drive.firmware}" if drive.firmware else ""
        told += "" if drive.rotational else ",rotation_rate=1"
        yield from (
            "-device",
            f"ide-hd,id={name},drive=disk-{name},bus=ide.{index},serial={drive.serial}{told}",
        )
        return
    yield "-device"
    yield (
        f"pcie-root-port,id={name}-slot,chassis={index + 1},slot={index + 1}"
        f",addr={NVME_SLOTS[index]},x-speed={drive.link_speed},x-width={drive.link_width}"
    )


def _joined(device: Mapping[str, str]) -> str:
    driver, *others = (f"{key}={told}" for key, told in device.items())
    return ",".join((driver.removeprefix("driver="), *others))


def _cards(notebook: Notebook, places: Places) -> Iterator[str]:
    if notebook.wired:
        yield from ("-netdev", "user,id=net,restrict=on")
        yield from (
            "-device",
            f"e1000e,id=wired,netdev=net,mac={notebook.wired.address},bus=wired-slot",
        )
    if notebook.card_reader:
        yield from ("-device", "sdhci-pci,id=reader,bus=card-slot")
        if notebook.card_reader.mib:
            yield from ("-drive", f"if=none,id=disk-card,format=raw,file={places.drive('card')}")
            yield from ("-device", "sd-card,id=card,drive=disk-card")
    if notebook.audio:
        yield from ("-audiodev", "none,id=sound")
        yield from ("-device", "ich9-intel-hda,id=audio,bus=sound-slot")
        if notebook.audio.codec:
            codec = "hda-micro" if notebook.audio.built_in else "hda-duplex"
            yield from ("-device", f"{codec},id=codec,audiodev=sound,bus=audio.0")
