"""The image that booted units share with the notebook's own tests."""

import pytest

from notebook.conftest import image as notebook_image
from notebook.image import Image
from oracles import fat_tools

__all__ = ("notebook_image",)


@pytest.fixture(scope="session")
def image(notebook_image: Image) -> Image:
    """The image; skips, and says why, where no sticks can be made."""
    if reason := fat_tools.reason_to_skip():
        pytest.skip(reason)
    return notebook_image
