"""What computes tells how far it is; one listener hears it, or nobody."""

from __future__ import annotations

import pytest

from calc import progress


@pytest.fixture
def heard():
    """What a listener has heard."""
    told = []
    progress.listen(lambda share, words: told.append((share, words)))
    yield told
    progress.listen(None)


def test_a_listener_hears_what_is_told_in_order(heard):
    progress.tell(0.25, "Day 1 of 4")
    progress.tell(1.0, "Day 4 of 4")
    assert heard == [(0.25, "Day 1 of 4"), (1.0, "Day 4 of 4")]


def test_a_listener_takes_the_place_of_the_one_before(heard):
    newer = []
    progress.listen(lambda *told: newer.append(told))
    progress.tell(0.5, "Day 2 of 4")
    assert (heard, newer) == ([], [(0.5, "Day 2 of 4")])


def test_where_nobody_listens_nothing_happens():
    progress.listen(None)
    progress.tell(0.5, "Day 2 of 4")
