"""Lighthouse, as a phone on a slow line: a home page, a check and a guide."""

from __future__ import annotations

import json
import os
import subprocess

import pytest

from site_src import runtime
from tests.browser.find_browser import VARIABLE, find_browser
from tests.browser.npm_tools import tool

TIMED = "performance"
"""This score hangs on the machine, which others share: it is told, not judged."""


@pytest.mark.long
@pytest.mark.parametrize("path", ["", "checks/cable-drop/", "guides/fuses/"])
def test_lighthouse_finds_nothing_to_mend(host, path, tmp_path, capsys):
    report = tmp_path / "report.json"
    command = [
        *(runtime.node(), tool("lighthouse", "cli/index.js"), host.url + path),
        *("--quiet", "--chrome-flags=--headless=new --no-sandbox", "--output=json", f"--output-path={report}"),
    ]
    chrome = os.environ.get(VARIABLE) or find_browser(print)
    said = subprocess.run(command, env={**os.environ, "CHROME_PATH": chrome}, capture_output=True, encoding="utf-8")
    assert report.exists(), said.stderr
    told = json.loads(report.read_text("utf-8"))
    scores = {name: round(100 * category["score"]) for name, category in told["categories"].items()}
    with capsys.disabled():
        print(f"\nLighthouse, {path or 'home'}: {TIMED} {scores.pop(TIMED)}")
    assert scores == {"accessibility": 100, "best-practices": 100, "seo": 100}, [
        (one["title"], one.get("displayValue")) for one in told["audits"].values() if one["score"] == 0
    ]
