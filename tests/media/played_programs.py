"""The programs of a build, played: packages of a few bytes, and tools that do the least of theirs.

With these a build needs no root, no network and no minute. What the real ones make of it is for the
tests that are marked `notebook`.
"""

import json
import lzma
import os
import subprocess
from collections.abc import Callable, Iterator, Mapping, Sequence
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Final
from zipfile import ZipFile, ZipInfo

from closeout.media.lock import Package
from closeout.media.recipe import BOOT, TOOLS
from strategies.fat_volume import build_fat32

RELEASE: Final = "6.12.9"
PACKED_AT: Final = 1_750_000_000
MODULES: Final = f"usr/lib/modules/{RELEASE}/kernel"
COPYRIGHT: Final = "Format: https://example.test/copyright-format/1.0/\n\nLicense: Fair-1\n words\n"
NEEDS: Final = {
    f"{MODULES}/drivers/block/loop.ko": (),
    f"{MODULES}/fs/fat/fat.ko": (),
    f"{MODULES}/fs/fat/vfat.ko": ("fat",),
    f"{MODULES}/fs/ext4/ext4.ko": (),
    f"{MODULES}/extra/needs-ext4.ko": ("ext4",),
}
FILES: Final[dict[str, Mapping[str, bytes]]] = {
    "base-passwd": {
        "usr/share/base-passwd/passwd.master": b"root:*:0:0:root:/root:/bin/sh\n",
        "usr/share/base-passwd/group.master": b"root:*:0:\n",
    },
    "busybox-static": {"usr/bin/busybox": b"many programs"},
    "console-setup-linux": {
        "usr/share/consolefonts/Uni2-Terminus16.psf.gz": b"font",
        "usr/share/consolefonts/Greek-VGA16.psf.gz": b"font",
        "usr/share/doc/console-setup-linux/changelog": b"long ago",
        "usr/share/man/man5/console-setup.5": b"page",
    },
    "grub-efi-amd64-signed": {
        "usr/lib/grub/x86_64-efi-signed/grubx64.efi.signed": b"second loader",
        "usr/lib/grub/x86_64-efi-signed/grubnetx64.efi.signed": b"second loader, network",
    },
    "grub-pc-bin": {"usr/lib/grub/i386-pc/boot.img": bytes(512)},
    "linux-image-amd64": {
        f"boot/vmlinuz-{RELEASE}": b"kernel",
        **{f"{path}.xz": lzma.compress(b"module") for path in NEEDS},
    },
    "python3": {"usr/lib/python3/dist-packages/a.py": b"", "usr/bin/cat": b"not of busybox"},
    "shim-helpers-amd64-signed": {"usr/lib/shim/mmx64.efi.signed": b"key tool"},
    "shim-signed": {"usr/lib/shim/shimx64.efi.signed": b"first loader"},
    "udev": {"usr/lib/udev/hwdb.d/20-usb.hwdb": b"ids"},
}
ALSO_NEEDED: Final = ("libc6", "systemd")
NOT_DOCUMENTED: Final = "libc6"


def _wheel(name: str) -> tuple[Package, bytes]:
    """Not the library, but a wheel as Python reads one."""
    packed = BytesIO()
    with ZipFile(packed, "w") as archive:
        archive.writestr(ZipInfo(f"{name}/__init__.py"), f"NAME = {name!r}\n")
    raw = packed.getvalue()
    file = f"{name}-1.0-py3-none-any.whl"
    digest = sha256(raw).hexdigest()
    return Package(name=name, version="1.0", file=file, size=len(raw), sha256=digest), raw


WHEELS: Final = dict(map(_wheel, ("segno", "typst")))
"""What is played in place of the libraries that set documents."""

Done = subprocess.CompletedProcess[bytes]


class PlayedPrograms:
    """Takes the place of `subprocess.run`; `called` has the words of every call."""

    def __init__(self) -> None:
        self.called: list[tuple[str, ...]] = []
        self.fails: str = ""
        self.says: bytes = b""
        self.wheels_end_with: bytes = b""
        self._volumes: dict[Path, tuple[int, str, dict[str, bytes]]] = {}

    def __call__(self, command: Sequence[object], **_: object) -> Done:
        """Plays what `subprocess.run` would start."""
        words = tuple(map(str, command))
        self.called.append(words)
        inside = words[0] == "chroot"
        tree = Path(words[1]) if inside else Path("/")
        own = words[2:] if inside else words[3:] if words[0] == "env" else words
        place = Path(words[2]) if words[0] == "env" else tree
        if self.fails and self.fails in words:
            return subprocess.CompletedProcess(words, 9, b"", self.says)
        play: Callable[[Path, tuple[str, ...]], bytes | None]
        play = getattr(self, "_" + Path(own[0]).name.replace("-", "_").replace(".", "_"))
        return subprocess.CompletedProcess(words, 0, play(place, own[1:]) or b"", b"")

    def _apt_get(self, place: Path, words: tuple[str, ...]) -> bytes:
        if "--print-uris" in words:
            asked = words[words.index("--print-uris") + 2 :]
            more = ALSO_NEEDED if "install" in words and "busybox-static" in asked else ()
            names = sorted({*(name.partition("/")[0] for name in asked), *more})
            return b"".join(f"'http://a/{n}' {_file(n)} 1 MD5Sum:0\n".encode() for n in names)
        if "download" in words:
            for named in words[words.index("download") + 1 :]:
                name = named.partition("=")[0]
                (place / _file(name)).write_bytes(_package(name))
        return b""

    def _apt_cache(self, _: Path, words: tuple[str, ...]) -> bytes:
        return "\n\n".join(_stanza(named.partition("=")[0]) for named in words[2:]).encode()

    def _dpkg_deb(self, _: Path, words: tuple[str, ...]) -> None:
        for path, content in json.loads(Path(words[1]).read_bytes()).items():
            file = Path(words[2]) / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(bytes.fromhex(content))
            os.utime(file, (PACKED_AT, PACKED_AT))

    def _pip(self, _: Path, words: tuple[str, ...]) -> None:
        wanted = Path(words[words.index("--requirement") + 1]).read_text("ascii")
        for wheel, raw in WHEELS.items():
            if wanted.startswith(f"{wheel.name}=={wheel.version} --hash=sha256:{wheel.sha256}"):
                folder = Path(words[words.index("--dest") + 1])
                (folder / wheel.file).write_bytes(raw + self.wheels_end_with)

    def _busybox(self, _: Path, __: tuple[str, ...]) -> bytes:
        return b"cat\nls\nswapon\n"

    def _ldconfig(self, tree: Path, _: tuple[str, ...]) -> None:
        (tree / "var/cache/ldconfig").mkdir(parents=True)

    def _systemd_hwdb(self, tree: Path, _: tuple[str, ...]) -> None:
        (tree / "usr/lib/udev/hwdb.bin").write_bytes(b"compiled")

    def _python3(self, _: Path, __: tuple[str, ...]) -> None:
        """Compiles nothing."""

    def _depmod(self, tree: Path, _: tuple[str, ...]) -> None:
        there = {path.name.split(".")[0]: path for path in (tree / MODULES).rglob("*.ko*")}
        write_needs(tree, there)

    def _mksquashfs(self, tree: Path, words: tuple[str, ...]) -> None:
        packed = "\n".join(_listed(tree / words[0].lstrip("/")))
        (tree / words[1].lstrip("/")).write_text(packed, "utf-8")

    def _grub_mkimage(self, tree: Path, _: tuple[str, ...]) -> None:
        (tree / "made/core.img").write_bytes(bytes(1300))

    def _mkfs_vfat(self, tree: Path, words: tuple[str, ...]) -> None:
        number, label = (words[words.index(option) + 1] for option in ("-i", "-n"))
        file = tree / words[-1].lstrip("/")
        self._volumes[file] = (int(number, 16), label, {})
        self._write(file)

    def _mmd(self, tree: Path, words: tuple[str, ...]) -> None:
        self._add(tree, words, b"", "/")

    def _mcopy(self, tree: Path, words: tuple[str, ...]) -> None:
        self._add(tree, words, (tree / words[-2].lstrip("/")).read_bytes())

    def _add(self, tree: Path, words: tuple[str, ...], content: bytes, end: str = "") -> None:
        file = tree / words[words.index("-i") + 1].lstrip("/")
        self._volumes[file][2][words[-1].removeprefix("::/") + end] = content
        self._write(file)

    def _write(self, file: Path) -> None:
        number, label, files = self._volumes[file]
        size = file.stat().st_size
        volume = build_fat32(files, number, label)
        file.write_bytes(volume.ljust(size, b"\0"))


def write_needs(tree: Path, there: Mapping[str, Path]) -> None:
    """The list that depmod would write."""
    top = tree / MODULES.removesuffix("/kernel")
    lines: list[str] = []
    for path, needs in NEEDS.items():
        if Path(path).stem in there:
            others = " ".join(str(there[need].relative_to(top)) for need in needs)
            lines.append(f"{there[Path(path).stem].relative_to(top)}: {others}")
    (top / "modules.dep").write_text("\n".join(lines) + "\n", "ascii")


def _listed(root: Path) -> Iterator[str]:
    for path in sorted(root.rglob("*")):
        digest = sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        yield f"{path.relative_to(root)} {digest}"


def _file(name: str) -> str:
    return f"{name}_1%3a2-3_amd64.deb"


def _package(name: str) -> bytes:
    files = dict(FILES.get(name, {}))
    if name != NOT_DOCUMENTED:
        text = COPYRIGHT if name not in {*TOOLS, *BOOT} else "By hand.\n"
        files[f"usr/share/doc/{name}/copyright"] = text.encode()
    return json.dumps({path: content.hex() for path, content in files.items()}).encode()


def _stanza(name: str) -> str:
    package = _package(name)
    fields = {
        "Package": name,
        "Version": "1:2-3",
        "Size": str(len(package)),
        "SHA256": sha256(package).hexdigest(),
        "Description": f"plays {name}\n more of it: said",
    }
    return "\n".join(f"{key}: {value}" for key, value in fields.items())
