"""Sound: cards, codecs and devices; each has its own file."""

from __future__ import annotations

from typing import Final

from closeout.readers import sound_card, sound_codec, sound_device

READERS: Final = (*sound_card.READERS, *sound_codec.READERS, *sound_device.READERS)
