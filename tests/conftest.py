"""Which tests run: those marked `long` only with `--all`, so that a run fits into half an hour on two cores.

What fails is told at once, as a run that is cut off never comes to its summary.
"""

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


class TellsAtOnce:
    """Prints each failure as it comes."""

    def __init__(self, config: pytest.Config) -> None:
        self.plugins = config.pluginmanager

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        terminal = self.plugins.get_plugin("terminalreporter")
        if report.failed and terminal:
            terminal.write_sep("_", f"{report.nodeid} failed in its {report.when}", red=True)
            terminal.write_line(report.longreprtext)


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):  # a process of its own has no terminal: what it reports is told once, here
        config.pluginmanager.register(TellsAtOnce(config))


def mostly_long(values: Iterable[str], *kept: str) -> list:
    """Return values for `parametrize`: those that are kept run always, the others are long."""
    return [value if value in kept else pytest.param(value, marks=pytest.mark.long) for value in values]
