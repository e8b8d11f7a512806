"""The circuit simulator that our own networks are held against (Debian package ngspice)."""

from __future__ import annotations

import os
import shutil

import pytest


def program() -> str:
    """Where it is; without it the test is skipped, which is a failure in CI."""
    found = shutil.which("ngspice")
    if found is None:
        reason = "not installed: ngspice; apt-get install ngspice"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return found
