"""Pictures are drawn here, each time."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="package", autouse=True)
def drawn() -> Iterator[None]:
    """Keep no still, unless a test says where."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FALLAWAY_CACHE", "")
        yield
