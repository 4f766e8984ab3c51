"""Shipped files: inside the package, or at the top of the checkout."""

from pathlib import Path

import pytest

from closeout.expect.shipped import ShippedFileError, find_shipped, shipped_folder


def test_both_folders_are_found() -> None:
    assert (shipped_folder("profiles") / "findings").is_dir()
    assert shipped_folder("reports").is_dir()


def test_package_goes_before_checkout(tmp_path: Path) -> None:
    inside, checkout = tmp_path / "shipped", tmp_path / "checkout"
    (inside / "profiles").mkdir(parents=True)
    (checkout / "profiles").mkdir(parents=True)
    (checkout / "pyproject.toml").touch()
    assert find_shipped("profiles", inside, checkout) == inside / "profiles"
    (inside / "profiles").rmdir()
    assert find_shipped("profiles", inside, checkout) == checkout / "profiles"


def test_folder_beside_a_package_that_is_no_checkout_is_not_ours(tmp_path: Path) -> None:
    (tmp_path / "profiles").mkdir()
    with pytest.raises(ShippedFileError, match="no folder 'profiles'"):
        find_shipped("profiles", tmp_path / "shipped", tmp_path)
