"""The files for a start over the network, with a page that says how to serve them."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Final

README: Final = """\
A start over the network (UEFI, Secure Boot may stay on)

Serve this folder as it is, by TFTP or by HTTP, and name shimx64.efi as the file to start.

  UEFI PXE     DHCP option 67 (file name): shimx64.efi; option 66 or next-server: the TFTP server
  UEFI HTTP    DHCP option 60: HTTPClient; option 67: http://SERVER/shimx64.efi

With dnsmasq, as root, in this folder:

  dnsmasq --no-daemon --port=0 --enable-tftp --tftp-root="$PWD" \\
      --dhcp-range=10.10.10.50,10.10.10.150 --dhcp-boot=shimx64.efi

shim fetches grubx64.efi from where it came itself, and that fetches grub/grub.cfg, vmlinuz and
initrd. Reports need a stick with a volume CLOSEOUT all the same: nothing is sent over the network.
"""
SHIM: Final = "shimx64.efi"
NETWORK_GRUB: Final = "grubx64.efi"
CONFIGURATION: Final = "grub/grub.cfg"


def write_network_files(folder: Path, files: Mapping[str, Path | bytes]) -> dict[str, Path]:
    """Writes the files, and tells where each of them lies."""
    shutil.rmtree(folder, ignore_errors=True)
    for name, content in sorted({**files, "README.txt": README.encode()}.items()):
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(content, bytes):
            file.write_bytes(content)
        else:
            shutil.copyfile(content, file)
    return {str(path.relative_to(folder)): path for path in folder.rglob("*") if path.is_file()}
