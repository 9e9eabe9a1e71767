"""The site as it is, built once for all that only look at it."""

from __future__ import annotations

from pathlib import Path

import pytest

from site_src import builder


@pytest.fixture(scope="session")
def dist(tmp_path_factory) -> Path:
    """The folder of the built site."""
    out = tmp_path_factory.mktemp("site") / "dist"
    builder.build(out, lambda words: None)
    return out
