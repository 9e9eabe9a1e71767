"""Finds a browser for the tests: one that is on the machine, else one that can be had."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from site_src.trouble import Trouble

VARIABLE = "FIELDBOOK_CHROMIUM"
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
PLACES = {
    "darwin": (
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
    ),
    "win32": (
        r"%ProgramFiles%\Google\Chrome\Application\chrome.exe",
        r"%ProgramFiles(x86)%\Google\Chrome\Application\chrome.exe",
        r"%LocalAppData%\Google\Chrome\Application\chrome.exe",
    ),
}
NONE = f"""\
The tests drive Chromium, and none was found, nor could one be fetched. Install it (on Debian: sudo apt install
chromium), or name an installed one in the environment variable {VARIABLE}, then run the tests again."""


def on_this_machine() -> Iterator[str]:
    """Paths of browsers that may be installed here, the likeliest first."""
    yield from filter(None, map(shutil.which, NAMES))
    for place in PLACES.get(sys.platform, ()):
        yield os.path.expandvars(place)


def of_playwright() -> Iterator[str]:
    """The browser that Playwright fetches itself, where it keeps it."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = playwright.chromium.executable_path
    yield path


def runs(browser: str) -> bool:
    """Whether the browser starts (some are placeholders that only name a package to install)."""
    if not Path(browser).exists():
        return False
    if sys.platform == "win32":  # there it would open a window
        return True
    try:
        return subprocess.run([browser, "--version"], capture_output=True, timeout=60).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


def fetched(say: Callable[[str], None]) -> Iterator[str]:
    """Browsers fetched for the purpose: by Playwright, or as root by Debian's package tool."""
    say("No Chromium on this machine: fetching one with Playwright ...")
    if not attempt([sys.executable, "-m", "playwright", "install", "chromium"]):
        say("Playwright could not fetch it.")
    yield from of_playwright()
    if shutil.which("apt-get") and os.geteuid() == 0:
        say("Installing chromium with apt-get ...")
        attempt(["apt-get", "update"])
        attempt(["apt-get", "install", "-y", "--no-install-recommends", "chromium"])
        yield from on_this_machine()


def attempt(command: list[str]) -> bool:
    """Runs a program that may fail."""
    try:
        return subprocess.run(command, capture_output=True, timeout=900).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


def find_browser(say: Callable[[str], None]) -> str:
    """The path of a browser that runs; what FIELDBOOK_CHROMIUM names comes first and must run."""
    named = os.environ.get(VARIABLE)
    if named:
        if runs(named):
            return named
        raise Trouble(f"{VARIABLE} names {named}, which does not run. Correct or unset it.")
    for source in (on_this_machine(), of_playwright(), fetched(say)):
        for browser in source:
            if runs(browser):
                return browser
    raise Trouble(NONE)
