"""Every built page is sound HTML: checked by html-validate, pinned in pyproject.toml and run under node."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

from site_src import runtime
from tests.browser.npm_tools import tool

TOOL = "html-validate"
CONFIG = {
    "root": True,
    "extends": ["html-validate:standard", "html-validate:a11y"],
    "rules": {
        "wcag/h32": "off",  # a form without a submit button: the answer follows every change, with no button needed
    },
}


AS_A_BROWSER_WRITES = {
    "attribute-boolean-style": "off",
    "attribute-empty-style": "off",
    "no-trailing-whitespace": "off",
}
"""A browser writes `hidden=""` for `hidden`, and what it shows is not what a person typed."""


def complaints(pages: list[Path], folder: Path, but: dict[str, str] | None = None) -> list[str]:
    """Return what the tool says of some pages in a folder, with some rules changed; its own files stand beside it."""
    script = tool(TOOL, "bin/html-validate.mjs")
    config, report = folder.with_suffix(".config.json"), folder.with_suffix(".report.json")
    config.write_text(json.dumps(CONFIG | {"rules": CONFIG["rules"] | (but or {})}), "utf-8")
    command = [runtime.node(), script, "--config", config, "--formatter", f"json={report}", *pages]
    said = subprocess.run(command, capture_output=True, encoding="utf-8")
    assert report.exists(), said.stderr
    found = [
        f"{Path(page['filePath']).relative_to(folder)}:{one['line']}:{one['column']} {one['ruleId']}: {one['message']}"
        for page in json.loads(report.read_text("utf-8"))
        for one in page["messages"]
    ]
    assert found or said.returncode == 0, said.stderr
    return found


def test_every_page_is_sound_html(built):
    pages = sorted(built.rglob("*.html"))
    assert len(pages) > 5
    assert complaints(pages, built) == []
