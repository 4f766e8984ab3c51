"""Where the trees and files of one build lie."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from closeout.media.initial import ROOT_FILE
from closeout.model.frozen import frozen

WORK: Final = "made"
"""The folder that the tools see as `/made`."""
KERNEL: Final = "vmlinuz"
INITIAL: Final = "initrd"
ROOT: Final = "root.cpio"
"""The archive that holds the packed root."""


@frozen
class Trees:
    """The unpacked packages of a build: its tools, and in their work folder the root of a unit."""

    tools: Path

    @property
    def work(self) -> Path:
        """Where the tools find and leave files."""
        return self.tools / WORK

    @property
    def root(self) -> Path:
        """The root of a unit."""
        return self.work / "root"

    @property
    def packed_root(self) -> Path:
        """The same as one file."""
        return self.work / ROOT_FILE

    @property
    def kernel(self) -> Path:
        """The signed kernel."""
        return self.work / KERNEL

    @property
    def initial(self) -> Path:
        """The initial file system."""
        return self.work / INITIAL

    @property
    def root_archive(self) -> Path:
        """The archive with the root, which the initial file system fetches."""
        return self.work / ROOT

    @property
    def shim(self) -> Path:
        """The signed first loader and its companions."""
        return self.tools / "usr/lib/shim"

    @property
    def signed_grub(self) -> Path:
        """The signed second loaders."""
        return self.tools / "usr/lib/grub/x86_64-efi-signed"

    @property
    def started(self) -> tuple[Path, ...]:
        """What a unit starts with, without the loaders."""
        return (self.kernel, self.initial, self.root_archive)
