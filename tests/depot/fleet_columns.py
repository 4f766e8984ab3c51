"""Columns of text for many rows, made without a loop over them."""

from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray


class Names:
    """A few texts, and a column that takes one of them for each row."""

    def __init__(self, *texts: str) -> None:
        self.texts = texts

    def __len__(self) -> int:
        return len(self.texts)

    def __getitem__(self, place: int) -> str:
        return self.texts[place]

    def index(self, text: str) -> int:
        """Where the text stands among them."""
        return self.texts.index(text)

    def at(self, places: NDArray[Any]) -> pa.Array:
        """The text at each of these places."""
        return pa.array(self.texts, pa.string()).take(pa.array(places))


def joined(*parts: str | pa.Array | NDArray[Any]) -> pa.Array:
    """Texts and columns of texts, one after the other."""
    columns = [part if isinstance(part, str | pa.Array) else pa.array(part) for part in parts]
    return pc.binary_join_element_wise(*columns, "")


def numbered(mark: str, numbers: NDArray[Any], digits: int) -> pa.Array:
    """`S000000012`."""
    texts = pc.utf8_lpad(pa.array(numbers).cast(pa.string()), digits, "0")
    return joined(mark, texts) if mark else texts


def digests(numbers: NDArray[Any]) -> pa.Array:
    """64 characters, other ones for every number."""
    return numbered("d", numbers, 63)


def days_of(seconds: NDArray[Any]) -> pa.Array:
    return _told(seconds, "D")


def months_of(seconds: NDArray[Any]) -> pa.Array:
    return _told(seconds, "M")


def weeks_of(seconds: NDArray[Any]) -> pa.Array:
    """ISO 8601 weeks, by way of each day that occurs."""
    days = seconds.astype("datetime64[s]").astype("datetime64[D]")
    known, places = np.unique(days, return_inverse=True)
    return Names(*(day.strftime("%G-W%V") for day in known.tolist())).at(places)


def _told(seconds: NDArray[Any], unit: str) -> pa.Array:
    known, places = np.unique(
        seconds.astype("datetime64[s]").astype(f"datetime64[{unit}]"), return_inverse=True
    )
    return Names(*(str(each) for each in known)).at(places)
