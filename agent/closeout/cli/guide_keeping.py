"""Reports of the guided check put on the stick, and offered again until they are there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.cli.dialogue import Dialogue
from closeout.cli.surroundings import Surroundings
from closeout.cli.typed_word import Word, read_word
from closeout.media.report_file import file_stem, pack_folder
from closeout.media.shared import REPORTS
from closeout.media.stick.document import FindMakers, SetDocument, find_makers, set_document
from closeout.media.stick.door import Door, LiveDoor
from closeout.media.stick.find import NoStick, Volume
from closeout.media.stick.keep import DOCUMENT_SUFFIX, NotKept, keep_report
from closeout.media.stick.paper import NoPaper

KEPT: Final = ".kept"
"""The folder beside the reports that says which of them are on a stick."""
ANOTHER: Final = "Keep the reports there? yes, no: "
FOLLOWS: Final = "Its document follows, in some seconds."
NO_DOCUMENT: Final = (
    "No document on the stick: {}. closeout report pdf makes it at a desk, out of the report file."
)


class NoKeeping:
    """Where reports stay in their folder alone."""

    def __call__(self) -> None:
        """Nothing is to be done."""

    def pending(self) -> tuple[Path, ...]:
        """None waits."""
        return ()


no_keeping: Final = NoKeeping()


class Keeping:
    """Puts every report on the stick that is on none; called again it tries again."""

    def __init__(
        self,
        out: Path,
        volume_id: str,
        surroundings: Surroundings,
        door: Door | None = None,
        making: tuple[FindMakers, SetDocument] = (find_makers, set_document),
    ) -> None:
        self._out = out
        self._volume_id = volume_id
        self._surroundings = surroundings
        self._door = door or LiveDoor()
        self._find_makers, self._set_document = making

    def pending(self) -> tuple[Path, ...]:
        """The folders of attempts that no stick holds, oldest first."""
        return tuple(self._unkept())

    def __call__(self) -> None:
        """One line for each report, or one for all where there is no stick; then the documents."""
        waiting = self.pending()
        if not waiting:
            return
        dialogue = Dialogue(self._surroundings)
        stick = self._stick(dialogue)
        if isinstance(stick, NoStick):
            dialogue.tell(f"Not kept on a stick: {_count(waiting)} in memory. {_sentence(stick)}")
            return
        for folder in waiting:
            dialogue.tell(self._keep(folder, stick))
        for folder in waiting:
            if self._marker(folder).exists():
                self._add_document(folder, stick, dialogue)

    def _stick(self, dialogue: Dialogue) -> Volume | NoStick:
        """The stick that the unit was started from; another only where the person says so."""
        own = self._door.find(self._volume_id)
        if isinstance(own, Volume) or not self._volume_id:
            return own
        other = self._door.find("")
        if isinstance(other, NoStick):
            return own
        dialogue.tell(f"Another stick is in, {other.volume_id} and not {self._volume_id}.")
        if read_word(dialogue.line(ANOTHER) or "") is Word.YES:
            self._volume_id = other.volume_id
            return other
        return own

    def _keep(self, folder: Path, stick: Volume) -> str:
        """Tries one, and what to say of it."""
        stem = file_stem(folder.parent.name, folder.name)
        kept = keep_report(pack_folder(folder), stem, stick, self._door)
        if isinstance(kept, NotKept):
            return f"Not kept: {stem} on stick {stick.volume_id}: {kept.why}. It is in memory."
        marker = self._marker(folder)
        marker.parent.mkdir(parents=True, exist_ok=True)
        marker.write_text(f"{stick.volume_id} {kept}\n", encoding="utf-8")
        return f"Kept on the stick {stick.volume_id}: {REPORTS}/{kept}"

    def _add_document(self, folder: Path, stick: Volume, dialogue: Dialogue) -> None:
        """Puts the document beside a report that is kept; tried once, for it can be made of it."""
        makers = self._find_makers(stick, self._door)
        if isinstance(makers, NoPaper):
            if makers.why:
                dialogue.tell(NO_DOCUMENT.format(makers.why))
            return
        dialogue.tell(FOLLOWS)
        made = self._set_document(folder, makers)
        if isinstance(made, NoPaper):
            dialogue.tell(NO_DOCUMENT.format(made.why))
            return
        stem = file_stem(folder.parent.name, folder.name)
        kept = keep_report(made, stem, stick, self._door, DOCUMENT_SUFFIX)
        if isinstance(kept, NotKept):
            dialogue.tell(NO_DOCUMENT.format(kept.why))
            return
        dialogue.tell(f"Document for the ticket: {REPORTS}/{kept}")

    def _unkept(self) -> Iterator[Path]:
        folders = [
            folder
            for folder in self._out.glob("[!.]*/[!.]*")
            if folder.is_dir() and not self._marker(folder).exists()
        ]
        yield from sorted(folders, key=lambda folder: (folder.stat().st_mtime_ns, folder.name))

    def _marker(self, folder: Path) -> Path:
        return self._out / KEPT / file_stem(folder.parent.name, folder.name)


def _count(waiting: tuple[Path, ...]) -> str:
    return "1 report is" if len(waiting) == 1 else f"{len(waiting)} reports are"


def _sentence(stick: NoStick) -> str:
    return f"{stick.why[0].upper()}{stick.why[1:]}."
