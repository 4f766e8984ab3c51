"""The image that booted units share with the notebook's own tests."""

from notebook.conftest import image

__all__ = ("image",)
