"""Published numbers, one data file per source, and the one reader for them.

A file's head says what it is, line by line: `# source:` (a key of `calc.sources`), `# where:` (table or page),
`# confidence:` ("seen", "from memory" or "common practice, no source", with a remark), `# units:`, `# note:`, and
`# text:` for columns that are kept as they are typed.
Then comes comma-separated text with a head line. A table holds numbers; it never computes.
"""

from __future__ import annotations

import csv
import pkgutil
from dataclasses import dataclass, field
from functools import cache

NAMES = (
    "cfr_183_425_table5",
    "cfr_183_425_engine_space",
    "cfr_183_425_bundle",
    "iec_60228",
    "astm_b258_sae",
    "trade_diameter_cables",
    "charge_voltages",
    "charge_temperatures",
    "schiffer_2007",
    "battery_models",
    "engine_starting",
    "cold_engine",
    "tm_5_1185_cranking",
    "bci_rest_voltage",
    "tm_5_3805_rest_voltage",
    "sign_manual_rest_voltage",
    "agm_vehicle_rest_voltage",
    "memory_rest_voltage",
    "simses_lfp_ocv",
    "tm_9_6140_self_discharge",
    "tm_5_4210_freezing",
    "freezing_vehicle",
    "pv_worksheet_cold",
    "tm_10_6140_cold",
    "tm_5_4210_cold",
    "memory_lfp_cold",
    "odd_readings",
    "assumptions",
    "set_up_assumptions",
    "fault_causes",
    "fault_changes",
    "fault_spreads",
    "fault_readings",
    "fault_limits",
    "job_parts",
    "iso_8820_families",
    "iso_8820_ratings",
    "iso_8820_time_current",
    "fuse_sheet_heat",
    "fuse_sheet_holders",
    "iec_62485_2",
    "iec_62485_3",
    "ventilation",
    "solis_2008",
    "alternator_heat",
    "fridge_protection",
    "regions",
    "local_codes",
)
"""Every table there is; a test compares this with the folder."""


@dataclass(frozen=True)
class Table:
    """A table as read: what its head says, its column names, and its rows (numbers as floats, blanks as None)."""

    name: str
    head: dict[str, str]
    columns: tuple[str, ...]
    rows: tuple[dict, ...]
    _kept: dict = field(default_factory=dict, init=False, repr=False, compare=False)

    def column(self, name: str) -> list:
        """Return a column from top to bottom."""
        return [row[name] for row in self.rows]

    def row(self, **key) -> dict:
        """Return the one row in which the named columns hold these values."""
        found = self._by(tuple(key)).get(tuple(key.values()), ())
        if len(found) != 1:
            raise KeyError(f"{self.name} has {len(found)} rows with {key}")
        return found[0]

    def _by(self, columns: tuple[str, ...]) -> dict[tuple, list[dict]]:
        """Return the rows by what some columns hold: looked through once, as simulations ask thousands of times."""
        if columns not in self._kept:
            rows: dict[tuple, list[dict]] = {}
            for row in self.rows:
                rows.setdefault(tuple(row[column] for column in columns), []).append(row)
            self._kept[columns] = rows
        return self._kept[columns]


def cell(text: str):
    """Return a cell: a float where it is a number, None where it is blank, else its text."""
    try:
        return float(text) if text else None
    except ValueError:
        return text


@cache
def table(name: str) -> Table:
    """Return a table by name (its file is `<name>.csv`)."""
    lines = pkgutil.get_data("calc.tables", f"{name}.csv").decode("utf-8").splitlines()
    head: dict[str, str] = {}
    for line in lines:
        if line.startswith("# "):
            key, _, text = line[2:].partition(": ")
            head[key] = f"{head[key]} {text}" if key in head else text
    as_text = head.get("text", "").split(", ")
    rows = list(csv.DictReader(line for line in lines if line and not line.startswith("#")))
    read = ({k: v if k in as_text else cell(v) for k, v in row.items()} for row in rows)
    return Table(name, head, tuple(rows[0]), tuple(read))


@cache
def assumption(key: str) -> dict:
    """Return a usual value that stands in for an unknown one: value, low, high, unit, source, words."""
    return table("assumptions").row(key=key)
