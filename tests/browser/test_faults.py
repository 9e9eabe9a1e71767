"""Whatever goes wrong on the way, a phone has one whole edition that works, none mixed, and all that was written."""

from __future__ import annotations

import pytest

from tests.browser.conftest import phone
from tests.browser.faults import put_through, small_edition, table


@pytest.fixture(scope="module")
def small_editions(tmp_path_factory):
    """Two editions that differ in every file."""
    folder = tmp_path_factory.mktemp("small")
    return small_edition(folder / "older", "The first words."), small_edition(folder / "newer", "The second words.")


@pytest.fixture
def trial(browser, capsys):
    """Put a fresh phone through faults, and print what came of them."""

    def put(*how, **where):
        context = phone(browser)
        tried = put_through(context, *how, **where)
        context.close()
        with capsys.disabled():
            print(f"\n{table(tried.tally)}")
        return tried

    return put


@pytest.mark.slow
def test_no_fault_leaves_a_small_edition_half(trial, small_editions):
    """Some faults at every file."""
    tried = trial(small_editions, fineness=3, step=20, most=40)
    assert tried.harms == []
    assert tried.tally.total() >= 80


@pytest.mark.long
def test_none_of_many_faults_leaves_a_small_edition_half(trial, small_editions):
    """Every fault at every file; `python -m tests.bench.faults` breaks transfers at more places still."""
    tried = trial(small_editions, fineness=7, step=2, most=1000)
    assert tried.harms == []
    assert tried.tally.total() >= 500


@pytest.mark.long
def test_no_fault_leaves_the_real_edition_half(trial, built, newer):
    """A few of its many; `python -m tests.bench.faults` takes forty."""
    tried = trial((built, newer), fineness=5, step=100, most=5)
    assert tried.harms == []
