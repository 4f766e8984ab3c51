"""The image that every notebook boots: a Debian 13 root, its kernel, what a guest needs of both.

Built once from packages (`mmdebstrap`, as root) and kept in a cache under the digest of its recipe;
three files of it boot a notebook:

    vmlinux     the kernel taken out of its compressed image, for a start without firmware's help
    vmlinuz     the kernel as packaged, signed once more, for a start from UEFI
    guest.cpio  the root without what no notebook needs, as an initial RAM file system

The whole `root` stays beside them: the test suite runs in it, on its Python.
"""

import hashlib
import json
import lzma
import os
import shutil
import struct
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from notebook.archive import pack
from notebook.kernel_modules import modules_needed
from notebook.lock import locked

CACHE_VARIABLE: Final = "CLOSEOUT_NOTEBOOK_CACHE"
SUITE: Final = "trixie"
PACKAGES: Final = (
    # the system
    "linux-image-amd64",
    "busybox-static",
    "kmod",
    "udev",
    "zstd",
    # what the agent runs on
    "python3",
    "python3-barcode",
    "python3-cpuinfo",
    "python3-psutil",
    "python3-pyudev",
    "python3-rich",
    # independent opinions on what the agent shows, and what sets devices up
    "acpica-tools",
    "alsa-utils",
    "dmidecode",
    "edid-decode",
    "ethtool",
    "evtest",
    "hdparm",
    "hostapd",
    "i2c-tools",
    "iproute2",
    "iw",
    "lm-sensors",
    "nvme-cli",
    "pciutils",
    "procps",
    "rfkill",
    "smartmontools",
    "tpm2-tools",
    "usbutils",
    "util-linux-extra",
    "v4l-utils",
    "wireless-regdb",
    # the test suite
    "git",
    "libfuse3-4",
    "libnvme-dev",
    "libxkbcommon-tools",
    "linux-libc-dev",
    "make",
    "openssl",
    "python3-coverage",
    "python3-dacite",
    "python3-hypothesis",
    "python3-joserfc",
    "python3-jsonschema",
    "python3-pytest",
    "python3-pytest-cov",
    "python3-pytest-xdist",
)
FIRMWARE_KEYS: Final = Path("/usr/share/ovmf")
NOT_UNPACKED: Final = (
    *("/usr/share/doc/*", "/usr/share/man/*", "/usr/share/locale/*"),
    "/usr/lib/x86_64-linux-gnu/*.a",
)
PACKED: Final = ".ko.xz"
LEFT_OUT: Final = (
    "boot",
    "dev",
    "proc",
    "sys",
    "tmp",
    "var",
    "etc/alternatives",
    "usr/include",
    "usr/lib/git-core",
    "usr/lib/modules",
    "usr/lib/python3/dist-packages/cryptography",
    "usr/lib/python3/dist-packages/hypothesis",
    "usr/lib/python3/dist-packages/numpy",
    "usr/lib/python3.13/ensurepip",
    "usr/lib/python3.13/idlelib",
    "usr/lib/python3.13/pydoc_data",
    "usr/lib/python3.13/test",
    "usr/lib/systemd/systemd",
    "usr/lib/udev/hwdb.d",
    "usr/lib/x86_64-linux-gnu/gconv",
    "usr/lib/x86_64-linux-gnu/perl",
    "usr/share/bash-completion",
    "usr/share/perl",
    "usr/share/perl5",
    "usr/share/python-wheels",
    "usr/share/X11",
    "usr/share/sounds",
    "usr/bin/git",
    "usr/bin/git-shell",
    "usr/bin/scalar",
    "usr/bin/perl",
    "usr/bin/perl5.40.1",
)
"""What no notebook needs of the root; the suite in the guest brings what it needs itself."""
EMPTY_FOLDERS: Final = ("dev", "proc", "sys", "run", "tmp", "var/lib", "var/tmp", "mnt")


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """The files of a built image, and what is in it."""

    folder: Path
    release: str
    """The kernel's release."""

    @property
    def root(self) -> Path:
        """The whole root."""
        return self.folder / "root"

    @property
    def vmlinux(self) -> Path:
        """The kernel, unpacked."""
        return self.folder / "vmlinux"

    @property
    def vmlinuz(self) -> Path:
        """The kernel as packaged, with a signature that the test firmware trusts."""
        return self.folder / "vmlinuz"

    @property
    def guest(self) -> Path:
        """The initial RAM file system."""
        return self.folder / "guest.cpio"

    @property
    def packages(self) -> dict[str, str]:
        """Version of every package, by name."""
        listed = json.loads((self.folder / "packages.json").read_text("utf-8"))
        return {str(name): str(version) for name, version in listed.items()}


def cache_folder() -> Path:
    """Where images are kept: beside the user's other caches unless told otherwise."""
    told = os.environ.get(CACHE_VARIABLE)
    return Path(told) if told else Path.home() / ".cache" / "closeout" / "notebook"


def built_image(cache: Path | None = None) -> Image:
    """The image of today's recipe, built if it is not in the cache."""
    folder = (cache or cache_folder()) / recipe_digest()
    folder.parent.mkdir(parents=True, exist_ok=True)
    with locked(folder.with_suffix(".lock")):
        if not (folder / "packages.json").is_file():
            partial = folder.with_suffix(".partial")
            shutil.rmtree(partial, ignore_errors=True)
            partial.mkdir()
            _build(partial)
            partial.rename(folder)
    return Image(folder=folder, release=_release(folder / "root"))


def recipe_digest() -> str:
    """Changes with everything that decides what is in the image."""
    recipe = json.dumps([SUITE, PACKAGES, NOT_UNPACKED, LEFT_OUT, EMPTY_FOLDERS])
    own = Path(__file__).read_bytes() + Path(__file__).with_name("kernel_modules.py").read_bytes()
    needed = json.dumps(sorted(modules_needed()))
    return hashlib.sha256(recipe.encode() + own + needed.encode()).hexdigest()[:16]


def _build(folder: Path) -> None:
    root = folder / "root"
    _unpack_packages(root)
    release = _release(root)
    packaged = root / "boot" / f"vmlinuz-{release}"
    _sign(packaged, folder / "vmlinuz")
    (folder / "vmlinux").write_bytes(_unpacked_kernel(packaged.read_bytes()))
    (folder / "guest").mkdir()
    _unpack_modules(root, release)
    _pack_guest(root, release, folder / "guest.cpio")
    listed = _installed(root)
    (folder / "packages.json").write_text(json.dumps(listed, indent=1) + "\n", "utf-8")


def _unpack_packages(root: Path) -> None:
    subprocess.run(
        [
            "mmdebstrap",
            "--quiet",
            "--variant=minbase",
            "--mode=root",
            f"--include={','.join(PACKAGES)}",
            *(f"--dpkgopt=path-exclude={pattern}" for pattern in NOT_UNPACKED),
            SUITE,
            str(root),
        ],
        check=True,
    )


def _release(root: Path) -> str:
    (folder,) = (root / "usr/lib/modules").iterdir()
    return folder.name


def _sign(packaged: Path, signed: Path) -> None:
    """Adds a signature by the key that comes with the firmware for tests, and is no secret."""
    with tempfile.NamedTemporaryFile() as key:
        unlock = ("openssl", "rsa", "-in", FIRMWARE_KEYS / "PkKek-1-snakeoil.key")
        given = ("-passin", "pass:snakeoil", "-out", key.name)
        subprocess.run([*unlock, *given], check=True, capture_output=True)
        sign = ("sbsign", "--key", key.name, "--cert", FIRMWARE_KEYS / "PkKek-1-snakeoil.pem")
        subprocess.run([*sign, "--output", signed, packaged], check=True, capture_output=True)


def _unpacked_kernel(packaged: bytes) -> bytes:
    """The ELF file in a bzImage (Documentation/arch/x86/boot.rst, payload_offset and _length)."""
    sectors = packaged[0x1F1] or 4
    offset, length = struct.unpack_from("<II", packaged, 0x248)
    begin = (sectors + 1) * 512 + offset
    payload = packaged[begin : begin + length - 4]  # the last four bytes give the unpacked size
    done = subprocess.run(
        ["zstd", "--decompress", "--stdout", "--quiet"],
        input=payload,
        capture_output=True,
        check=True,
    )
    return done.stdout


def _unpack_modules(root: Path, release: str) -> None:
    """Those that notebooks need, which an emulated processor takes a tenth of its start for.

    They keep their signatures, which are within.
    """
    folder = root / "usr/lib/modules" / release
    for module in _with_their_own(folder):
        packed = folder / module
        if packed.name.endswith(PACKED):
            packed.with_suffix("").write_bytes(lzma.decompress(packed.read_bytes()))
            packed.unlink()
    subprocess.run(["chroot", root, "depmod", release], check=True)


def _pack_guest(root: Path, release: str, archive: Path) -> None:
    for folder in EMPTY_FOLDERS:
        (root / folder).mkdir(parents=True, exist_ok=True)
    kept = [*EMPTY_FOLDERS, *_kept(root), *_kept_modules(root, release)]
    pack(root, kept, archive)


def _kept(root: Path) -> Iterator[str]:
    """Every path of the root but those left out, folders before what is in them."""
    left_out = frozenset(LEFT_OUT)
    for folder, names, files in os.walk(root):
        inside = os.path.relpath(folder, root)
        names[:] = sorted(name for name in names if _joined(inside, name) not in left_out)
        for name in (*names, *sorted(files)):
            if (path := _joined(inside, name)) not in left_out:
                yield path


def _joined(folder: str, name: str) -> str:
    return name if folder == "." else f"{folder}/{name}"


def _kept_modules(root: Path, release: str) -> Iterator[str]:
    """The modules that notebooks need, those that they need in turn, and the lists of them."""
    folder = f"usr/lib/modules/{release}"
    yield from ("usr/lib/modules", folder)
    yield from (f"{folder}/{file.name}" for file in sorted((root / folder).glob("modules.*")))
    seen = {folder}
    for module in _with_their_own(root / folder):
        path = f"{folder}/{module}"
        for parent in reversed(Path(path).parents):
            if str(parent).startswith(folder) and str(parent) not in seen:
                seen.add(str(parent))
                yield str(parent)
        yield path


def _with_their_own(folder: Path) -> tuple[str, ...]:
    needs: dict[str, tuple[str, list[str]]] = {}
    for line in (folder / "modules.dep").read_text("ascii").splitlines():
        path, _, others = line.partition(":")
        needs[_module_name(path)] = (path, others.split())
    kept: set[str] = set()
    for name in modules_needed():
        if name in needs:  # what is not there is built into the kernel
            module, its_own = needs[name]
            kept.update((module, *its_own))
    return tuple(sorted(kept))


def _module_name(path: str) -> str:
    return Path(path).name.split(".")[0].replace("-", "_")


def _installed(root: Path) -> dict[str, str]:
    listed = subprocess.run(
        ["dpkg-query", f"--admindir={root}/var/lib/dpkg", "--show"],
        capture_output=True,
        check=True,
        text=True,
    )
    return dict(line.split("\t") for line in listed.stdout.splitlines())
