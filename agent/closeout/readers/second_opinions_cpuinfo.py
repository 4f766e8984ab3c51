"""What py-cpuinfo tells otherwise than our own reading of the processor's model.

Kernel path of ours: `proc/cpuinfo`.
"""

from __future__ import annotations

from collections.abc import Iterator

from closeout.decode.second_opinions import decode_processor_brand
from closeout.kernel.question_names import PROCESSOR
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.processor import find_processors, read_processor
from closeout.readers.second_opinions_heard import AGREED, Comparison, hear, show_texts


def ask_cpuinfo(tree: KernelTree) -> Iterator[Comparison]:
    """The model of the package that the library happened to run on: one of ours must be it."""
    theirs = hear(tree, PROCESSOR, decode_processor_brand)
    places = find_processors(tree)
    if not isinstance(theirs, Value):
        yield theirs
        return
    if not isinstance(places, Value):
        yield places
        return
    models = [read_processor(tree, place).model for place in places.value]
    sources = (*theirs.sources, *(source for model in models for source in model.sources))
    ours = [model.value for model in models if isinstance(model, Value)]
    unread = [model for model in models if isinstance(model, Unreadable)]
    if unread:
        yield unread[0]
    elif not ours or not theirs.value:
        yield Absent(reason="one of the two tells no model", sources=sources)
    elif theirs.value in ours:
        yield Value(value=AGREED, sources=sources)
    else:
        text = f"processor: ours {show_texts(*ours)}, py-cpuinfo {show_texts(theirs.value)}"
        yield Value(value=(text,), sources=sources)
