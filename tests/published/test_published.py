"""Every published value is met within its source's own accuracy."""

import pytest

from calc.sources import SOURCES
from tests.published.compute import compute
from tests.published.published import rows, tolerance

ROWS = rows()
CONFIDENCES = {"seen", "from memory", "common practice, no source"}


def name(row):
    return f"{row['file']}: {row['source']} {row['where']} = {row['expect']}"


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_published_value(row):
    assert compute(row) == pytest.approx(row["expect"], abs=tolerance(row)), row["because"]


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_row_names_its_source_and_its_tolerance(row):
    assert row["source"] in SOURCES
    assert row["confidence"] in CONFIDENCES
    assert row["where"] and row["because"]
    assert (row["source"] == "memory") <= (row["confidence"] == "from memory")
    assert (row["source"] == "practice") <= (row["confidence"] == "common practice, no source")


def test_enough_numbers_from_enough_sources():
    seen = [row for row in ROWS if row["confidence"] == "seen"]
    assert len(seen) >= 80
    assert len({row["source"] for row in seen}) >= 12
