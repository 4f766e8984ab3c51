"""What a stick is made of: packages, what is taken out of them again, and the kernel's options."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.model.frozen import frozen

SUITE: Final = "trixie"
ARCHIVE: Final = "http://deb.debian.org/debian"
SECURITY_ARCHIVE: Final = "http://security.debian.org/debian-security"
KEYRING: Final = "/usr/share/keyrings/debian-archive-keyring.gpg"
KERNEL: Final = "linux-image-amd64"

SYSTEM: Final = (
    # the system
    "base-files",
    "base-passwd",
    "busybox-static",
    "dash",
    "kmod",
    "libc-bin",
    "mount",
    "udev",
    # the console
    "console-setup-linux",
    "kbd",
    "ncurses-base",
    # radio
    "iw",
    "wireless-regdb",
    # what the agent runs on
    "python3",
    "python3-barcode",
    "python3-cpuinfo",
    "python3-joserfc",
    "python3-psutil",
    "python3-pyudev",
    "python3-rich",
)
FIRMWARE: Final = (
    # graphics
    "firmware-amd-graphics",
    "firmware-intel-graphics",
    "firmware-nvidia-graphics",
    # sound
    "firmware-cirrus",
    "firmware-intel-sound",
    "firmware-sof-signed",
    # wireless and Bluetooth
    "firmware-atheros",
    "firmware-brcm80211",
    "firmware-iwlwifi",
    "firmware-libertas",
    "firmware-mediatek",
    "firmware-realtek",
    # sensor hubs, cameras, wired networks
    "firmware-intel-misc",
    "firmware-misc-nonfree",
)
"""Processor microcode is left out: a check shows what the unit's own firmware brought."""
BOOT: Final = (
    "grub-efi-amd64-signed",
    "grub-pc-bin",
    "shim-helpers-amd64-signed",
    "shim-signed",
)
"""Taken as files, without what they depend on: nothing of them is run on the host or the unit."""
TOOLS: Final = ("base-files", "dosfstools", "grub-common", "mtools", "squashfs-tools")
"""Whatever decides on a byte of the image comes out of the same archive, and not off the host."""

NOT_UNPACKED: Final = frozenset(
    {
        "adduser",
        "console-setup",
        "coreutils",
        "cpio",
        "debconf",
        "dpkg",
        "dracut-install",
        "init-system-helpers",
        "initramfs-tools",
        "initramfs-tools-bin",
        "initramfs-tools-core",
        "keyboard-configuration",
        "klibc-utils",
        "libklibc",
        "liblocale-gettext-perl",
        "libperl5.40",
        "linux-base",
        "logsave",
        "media-types",
        "passwd",
        "perl",
        "perl-base",
        "perl-modules-5.40",
        "systemd",
        "tar",
        "tzdata",
        "xkb-data",
    }
)
"""What others depend on for an installed system: nothing is installed, and our own program is
the first. Without `systemd`, `lvm2`, `mdadm` and their like nothing mounts or assembles a disk."""

PRUNED: Final = (
    "boot",
    "etc/cron.*",
    "etc/init.d",
    "etc/systemd",
    "usr/games",
    "usr/lib/dracut",
    "usr/lib/modules/*/System.map",
    "usr/lib/modules/*/config",
    "usr/lib/modprobe.d/aliases.conf",
    "usr/lib/python3*/ensurepip",
    "usr/lib/python3*/idlelib",
    "usr/lib/python3*/pydoc_data",
    "usr/lib/python3*/test",
    "usr/lib/python3*/turtledemo",
    "usr/lib/systemd/system",
    "usr/lib/systemd/system-generators",
    "usr/lib/systemd/user",
    "usr/sbin/swapoff",
    "usr/sbin/swapon",
    "usr/lib/x86_64-linux-gnu/gconv",
    "usr/share/apport",
    "usr/share/bash-completion",
    "usr/share/bug",
    "usr/share/consoletrans",
    "usr/share/initramfs-tools",
    "usr/share/info",
    "usr/share/lintian",
    "usr/share/locale",
    "usr/share/man",
    "usr/share/menu",
    "usr/share/python-wheels",
    "usr/share/zsh",
)
APPLETS_LEFT_OUT: Final = frozenset(
    {
        # nothing on a unit's disk is made, swapped to, trimmed or partitioned
        *("blkdiscard", "fdisk", "fsck", "fsfreeze", "fstrim", "hdparm", "mkdosfs", "mke2fs"),
        *("mkfs.ext2", "mkfs.minix", "mkfs.vfat", "mkswap", "swapoff", "swapon", "tune2fs"),
        # nothing is sent or fetched
        *("ftpget", "ftpput", "httpd", "nc", "ntpd", "telnet", "tftp", "udhcpc", "wget"),
    }
)
"""Parts of busybox that get no name."""
FONTS: Final = "usr/share/consolefonts"
FONTS_KEPT: Final = ("Uni2-Terminus", "Uni2-Fixed", "Uni2-VGA")
DOCUMENTS: Final = "usr/share/doc"
LICENCE: Final = "copyright"
"""The one file of a package's documents that stays."""

MODULES_LEFT_OUT: Final = (
    # no unit's disk is read but through its controller, so no file system of one can be mounted
    *(f"kernel/fs/{name}" for name in ("9p", "adfs", "affs", "afs", "befs", "bfs", "btrfs")),
    *(f"kernel/fs/{name}" for name in ("cachefiles", "ceph", "coda", "cramfs", "dlm", "ecryptfs")),
    *(f"kernel/fs/{name}" for name in ("efs", "erofs", "ext4", "f2fs", "freevxfs", "gfs2", "hfs")),
    *(f"kernel/fs/{name}" for name in ("hfsplus", "hpfs", "jbd2", "jffs2", "jfs", "lockd")),
    *(f"kernel/fs/{name}" for name in ("minix", "netfs", "nfs", "nfs_common", "nfsd", "nilfs2")),
    *(f"kernel/fs/{name}" for name in ("ntfs3", "ocfs2", "omfs", "orangefs", "qnx4", "qnx6")),
    *(f"kernel/fs/{name}" for name in ("quota", "reiserfs", "romfs", "smb", "sysv", "ubifs")),
    *(f"kernel/fs/{name}" for name in ("udf", "ufs", "vboxsf", "xfs", "zonefs", "bcachefs")),
    # no assembly of volumes, no disks over networks
    "kernel/drivers/md",
    "kernel/drivers/target",
    "kernel/drivers/block/aoe",
    "kernel/drivers/block/drbd",
    "kernel/drivers/block/nbd",
    "kernel/drivers/block/rbd",
    "kernel/drivers/nvme/target",
    # not in a notebook
    "kernel/drivers/atm",
    "kernel/drivers/message",
    "kernel/drivers/mtd",
    "kernel/drivers/net/can",
    "kernel/drivers/net/fddi",
    *(f"kernel/drivers/scsi/{name}" for name in ("aacraid", "aic7xxx", "aic94xx", "arcmsr")),
    *(f"kernel/drivers/scsi/{name}" for name in ("be2iscsi", "bfa", "bnx2fc", "bnx2i", "csiostor")),
    *(f"kernel/drivers/scsi/{name}" for name in ("cxgbi", "esas2r", "fcoe", "fnic", "isci")),
    *(f"kernel/drivers/scsi/{name}" for name in ("libfc", "libsas", "lpfc", "megaraid")),
    *(f"kernel/drivers/scsi/{name}" for name in ("mpi3mr", "mpt3sas", "mvsas", "pm8001", "qedf")),
    *(f"kernel/drivers/scsi/{name}" for name in ("qedi", "qla2xxx", "qla4xxx", "smartpqi", "snic")),
    "kernel/drivers/usb/gadget",
    "kernel/net/atm",
    "kernel/net/can",
    "kernel/drivers/comedi",
    "kernel/drivers/gpu/drm/xe/tests",
    "kernel/drivers/infiniband",
    "kernel/drivers/isdn",
    "kernel/drivers/media/dvb-core",
    "kernel/drivers/media/dvb-frontends",
    "kernel/drivers/media/pci/cx18",
    "kernel/drivers/media/pci/cx23885",
    "kernel/drivers/media/pci/ddbridge",
    "kernel/drivers/media/pci/ivtv",
    "kernel/drivers/media/pci/saa7134",
    "kernel/drivers/media/pci/saa7164",
    "kernel/drivers/media/tuners",
    "kernel/drivers/media/usb/dvb-usb",
    "kernel/drivers/media/usb/dvb-usb-v2",
    "kernel/drivers/net/ethernet/brocade",
    "kernel/drivers/net/ethernet/cavium",
    "kernel/drivers/net/ethernet/chelsio",
    "kernel/drivers/net/ethernet/cisco",
    "kernel/drivers/net/ethernet/emulex",
    "kernel/drivers/net/ethernet/fungible",
    "kernel/drivers/net/ethernet/mellanox",
    "kernel/drivers/net/ethernet/netronome",
    "kernel/drivers/net/ethernet/pensando",
    "kernel/drivers/net/ethernet/qlogic",
    "kernel/drivers/net/ethernet/sfc",
    "kernel/drivers/net/hamradio",
    "kernel/drivers/net/wan",
    "kernel/net/batman-adv",
    "kernel/net/bridge",
    "kernel/net/ceph",
    "kernel/net/dccp",
    "kernel/net/ipv4/netfilter",
    "kernel/net/ipv6/netfilter",
    "kernel/net/netfilter",
    "kernel/net/openvswitch",
    "kernel/net/rds",
    "kernel/net/sched",
    "kernel/net/sctp",
    "kernel/net/smc",
    "kernel/net/sunrpc",
    "kernel/net/tipc",
)
MOUNTING: Final = ("loop", "overlay", "squashfs")
"""Modules that mount the root once it is in memory."""
FETCHING: Final = (
    *("xhci_pci", "ehci_pci", "uhci_hcd", "ohci_pci"),
    *("sd_mod", "usb_storage", "uas"),
    *("nls_cp437", "nls_ascii", "vfat"),
)
"""Modules that read it from a stick; none of them drives a unit's own disk."""
ALWAYS: Final = (
    "consoleblank=0",
    "fbcon=font:TER16x32",  # read at arm's length; the lines are wrapped to what fits
    "loglevel=3",
    "noresume",
    "panic=30",
    "quiet",
    "raid=noautodetect",
)
CONSOLES: Final = "console=ttyS0,115200 console=tty0"
"""The last one is /dev/console; the kernel speaks on both."""


@frozen
class Wanted:
    """What a build was asked for."""

    has_firmware: bool = True
    has_documents: bool = True
    kernel: str = KERNEL
    """The kernel's package, or the suite to take the usual one from."""

    @property
    def kernel_package(self) -> str:
        """The kernel as the package tool is asked for it."""
        is_package = self.kernel.startswith("linux-image")
        return self.kernel if is_package else f"{KERNEL}/{self.kernel}"

    @property
    def suites(self) -> tuple[str, ...]:
        """Where packages come from, without the security archive."""
        more = self.kernel_package.partition("/")[2]
        return (SUITE, f"{SUITE}-updates", *((more,) if more not in {"", SUITE} else ()))

    @property
    def system(self) -> tuple[str, ...]:
        """The packages of the root."""
        return (self.kernel_package, *SYSTEM, *(FIRMWARE if self.has_firmware else ()))

    def sources(self) -> Iterator[str]:
        """The lines of a sources.list."""
        signed = f"deb [signed-by={KEYRING}]"
        for suite in self.suites:
            yield f"{signed} {ARCHIVE} {suite} main non-free-firmware"
        yield f"{signed} {SECURITY_ARCHIVE} {SUITE}-security main non-free-firmware"


def kernel_options(shared: str, boot: str) -> str:
    """The kernel's command line of every entry, with the numbers of the stick's two volumes."""
    return " ".join((CONSOLES, *ALWAYS, f"closeout.stick={shared}", f"closeout.start={boot}"))
