"""README and the contributors' guide stay true: what is declared is named there, and what is named is there."""

import re
from pathlib import Path

import pytest

import calc

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")


@pytest.mark.parametrize("check", calc.checks().values(), ids=lambda check: check.id)
def test_readme_names_every_check_by_its_question(check):
    assert f"| {check.question} | `{check.id}` |" in README


def test_readme_names_no_check_that_is_not_there():
    assert set(re.findall(r"^\| .* \| `([a-z-]+)` \|$", README, re.MULTILINE)) == set(calc.checks())


@pytest.mark.parametrize("text", [README, GUIDE], ids=["README", "DEVELOPERS"])
def test_every_file_and_folder_that_is_named_is_there(text):
    for name in re.findall(r"`((?:calc|site_src|tests)/[\w/.-]+)`", text):
        assert (ROOT / name).exists(), name
