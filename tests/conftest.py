"""Which tests run: those marked `long` only with `--all`, so that a run fits into half an hour on two cores."""

from __future__ import annotations

from collections.abc import Iterable

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--all", action="store_true", help="run the tests marked long too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--all"):
        return
    long = [item for item in items if item.get_closest_marker("long")]
    if long:
        config.hook.pytest_deselected(items=long)
        items[:] = [item for item in items if not item.get_closest_marker("long")]


def mostly_long(values: Iterable[str], *kept: str) -> list:
    """Return values for `parametrize`: those that are kept run always, the others are long."""
    return [value if value in kept else pytest.param(value, marks=pytest.mark.long) for value in values]
