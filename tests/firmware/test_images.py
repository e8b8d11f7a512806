"""The images that come with the package are the sketch as it stands, byte for byte."""

from __future__ import annotations

import os

import pytest

from tests.firmware import images, rig


def test_images_are_the_sketch_as_it_stands() -> None:
    rig.need_toolchain()
    if images.built_with() != images.compiler() and not os.environ.get("CI"):
        pytest.skip(f"another compiler built the images: {images.built_with()}")
    for name, data in images.built().items():
        same = (images.FOLDER / name).read_bytes() == data
        assert same, f"{name} is not of this sketch: python -m tests.firmware.images"
