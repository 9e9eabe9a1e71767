"""Every built page is sound HTML: checked by html-validate, pinned in pyproject.toml and run under node."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from site_src import runtime

TOOL = "html-validate"
CONFIG = {
    "root": True,
    "extends": ["html-validate:standard", "html-validate:a11y"],
    "rules": {
        "wcag/h32": "off",  # a form without a submit button: the answer follows every change, with no button needed
    },
}


@pytest.fixture(scope="session")
def validator() -> Path:
    """The tool's folder, fetched once into the cache."""
    version = runtime.pins()["tool"]["fieldbook"]["tools"][TOOL]
    folder = runtime.CACHE / "tools" / f"{TOOL}-{version}"
    script = folder / "node_modules" / TOOL / "bin" / "html-validate.mjs"
    if not script.exists():
        folder.mkdir(parents=True, exist_ok=True)
        runtime.call(
            [
                *runtime.npm(),
                *("install", "--prefix", folder, "--ignore-scripts", "--no-audit", "--no-fund", "--no-package-lock"),
                f"{TOOL}@{version}",
            ],
            f"npm could not fetch {TOOL}. It needs a network the first time: connect and run again.",
            cwd=folder,
        )
    return script


def test_every_page_is_sound_html(validator, built, tmp_path):
    pages = sorted(built.rglob("*.html"))
    assert len(pages) > 5
    config, report = tmp_path / "config.json", tmp_path / "report.json"
    config.write_text(json.dumps(CONFIG), "utf-8")
    command = [runtime.node(), validator, "--config", config, "--formatter", f"json={report}", *pages]
    said = subprocess.run(command, capture_output=True, encoding="utf-8")
    assert report.exists(), said.stderr
    found = [
        f"{Path(page['filePath']).relative_to(built)}:{one['line']}:{one['column']} {one['ruleId']}: {one['message']}"
        for page in json.loads(report.read_text("utf-8"))
        for one in page["messages"]
    ]
    assert found == []
    assert said.returncode == 0, said.stderr
