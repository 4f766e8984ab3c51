"""The kernel modules that notebooks need; without all others the guest boots faster."""

from typing import Final

from notebook import acpi_source, guest_plan, usb_arguments

PLAIN: Final = (
    # buses and drives
    "ahci",
    "libahci",
    "sd_mod",
    "nvme",
    "sdhci_pci",
    "mmc_block",
    "pcieport",
    # display
    "bochs",
    # wired network
    "e1000e",
    # sound
    "snd_hda_intel",
    "snd_hda_codec_generic",
    "snd_usb_audio",
    "snd_aloop",
    # keys and pointers
    "i8042",
    "atkbd",
    "psmouse",
    "evdev",
    "usbhid",
    "hid_generic",
    # firmware variables, machine checks
    "efivarfs",
    "efi_pstore",
    "aer_inject",
    "mce_inject",
    # system management bus, clock
    "i2c_i801",
    "rtc_cmos",
    # USB host
    "xhci_pci",
    "xhci_hcd",
    "usb_storage",
    "uas",
    # drives that are not there, for loop and FUSE tests of the suite
    "fuse",
    "loop",
    "overlay",
)


def modules_needed() -> tuple[str, ...]:
    """All of them, by the name that `lsmod` shows."""
    return (*PLAIN, *acpi_source.MODULES, *guest_plan.MODULES, *usb_arguments.MODULES)
