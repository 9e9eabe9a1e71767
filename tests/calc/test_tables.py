"""Tables: every file is listed, says where it comes from, and holds numbers that parse."""

import csv
import math
from pathlib import Path

import pytest

import calc.tables
from calc.sources import SOURCES
from calc.tables import NAMES, assumption, cell, table

FOLDER = Path(calc.tables.__file__).parent
CONFIDENCES = ("seen", "from memory", "common practice, no source", "each row names its own")


def test_every_file_is_listed_and_every_name_has_a_file():
    assert sorted(NAMES) == sorted(path.stem for path in FOLDER.glob("*.csv"))
    assert len(set(NAMES)) == len(NAMES)


def test_the_folder_holds_tables_and_their_reader_only():
    assert {p.suffix for p in FOLDER.iterdir() if p.is_file()} == {".csv", ".py"}


@pytest.mark.parametrize("name", NAMES)
def test_the_head_says_where_it_comes_from(name):
    head = table(name).head
    assert {"source", "where", "confidence", "units"} <= set(head)
    assert head["source"] in SOURCES
    assert head["where"] and head["units"]
    assert head["confidence"].startswith(CONFIDENCES)
    assert (head["source"] == "memory") <= head["confidence"].startswith("from memory")


@pytest.mark.parametrize("name", NAMES)
def test_every_column_is_explained_in_the_head(name):
    found = table(name)
    units = found.head["units"]
    own_words = {"source", "where", "confidence", "words", "unit", "key", "name", "note"}
    if "key" in found.columns or "value" in found.columns:
        return
    numeric = [c for c in found.columns if any(isinstance(v, float) for v in found.column(c))]
    for column in set(numeric) - own_words:
        named = column in units or column.isdigit() and " to " in units
        assert named, f"{name}: column {column} has no unit in the head"


@pytest.mark.parametrize("name", NAMES)
def test_every_row_is_whole_and_every_number_parses(name):
    text = (FOLDER / f"{name}.csv").read_text("utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if line and not line.startswith("#")))
    width = len(rows[0])
    assert len(set(rows[0])) == width
    for row in rows[1:]:
        assert len(row) == width, row
        assert all(text == text.strip() for text in row), row
    for column in rows[0]:
        values = [v for v in table(name).column(column) if v is not None]
        assert values, f"{name}: column {column} is empty"
        numbers = [v for v in values if isinstance(v, float)]
        assert not numbers or len(numbers) == len(values), f"{name}: column {column} mixes numbers and words"
        assert all(math.isfinite(v) for v in numbers)


@pytest.mark.parametrize("name", NAMES)
def test_a_row_that_names_a_source_names_a_known_one(name):
    found = table(name)
    if "source" in found.columns:
        assert set(found.column("source")) <= set(SOURCES)


@pytest.mark.parametrize("row", table("assumptions").rows, ids=lambda row: row["key"])
def test_an_assumption_lies_within_its_own_spread(row):
    assert row["low"] <= row["value"] <= row["high"]
    assert row["words"] and row["unit"]
    assert assumption(row["key"]) == row


def test_a_row_that_is_not_there_or_not_alone_is_a_mistake_of_ours():
    with pytest.raises(KeyError, match="0 rows"):
        table("iec_60228").row(area=7.0)
    with pytest.raises(KeyError, match="rows with"):
        table("charge_voltages").row(chemistry="agm")


def test_cells():
    assert cell("") is None
    assert cell("1.5") == 1.5
    assert cell("6 AWG") == "6 AWG"


@pytest.mark.parametrize("name", NAMES)
def test_no_table_names_a_product(name):
    """Numbers come from texts and standards; no brand stands in the book."""
    text = (FOLDER / f"{name}.csv").read_text("utf-8")
    assert "®" not in text and "™" not in text
