"""Three engines, driven in one way: Chromium by Playwright, Firefox by Marionette, WebKit by WebDriver.

A test is given a `Phone` and says what a reader does; what differs between the engines stays here. One phone serves
all tests of its engine: each test has a host at a port of its own, and so a store of its own.
"""

from __future__ import annotations

import base64
import os
import shutil
import subprocess
import tempfile
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser
from playwright.sync_api import Error as PlaywrightError

LONGEST = 60.0
"""How long a state is waited for; no test is about speed [s]."""

PAUSE = 0.05
"""Between two looks at a page [s]."""

WIDTH, HEIGHT = 360, 740

PROMISE = "(async () => { %s })().then((value) => ({ value }), (problem) => ({ problem: String(problem) }))"
"""What a script in the page returns, or what went wrong in it."""

CALLED_BACK = f"const [given, done] = arguments; {PROMISE}.then(done);"


class Interrupted(Exception):
    """The page went away while it was asked something: it was opened anew, or another came."""


class Phone(ABC):
    """A browser with nothing saved, and the words for what a reader does with it."""

    engine: str

    @abstractmethod
    def open(self, url: str) -> None:
        """Open an address, as one typed into the bar: never only a jump within the page."""

    @abstractmethod
    def run(self, body: str, given: Any = None) -> Any:
        """Return what the body of an asynchronous function returns in the page; `given` is at its hand."""

    @abstractmethod
    def click(self, selector: str) -> None:
        """Click on what the selector finds first; in WebKit the page that a link leads to may come later."""

    @abstractmethod
    def press(self, *keys: str) -> None:
        """Press keys, one after the other: a letter, or "Tab", "Enter", "Space"."""

    @abstractmethod
    def new_tab(self) -> str:
        """Open a tab, turn to it, and return its name."""

    @abstractmethod
    def tab(self) -> str:
        """Return the name of the tab that is turned to."""

    @abstractmethod
    def turn_to(self, tab: str) -> None:
        """Turn to a tab."""

    @abstractmethod
    def close_other_tabs(self) -> None:
        """Leave only the tab that is turned to, with nothing in it."""

    @abstractmethod
    def picture(self) -> bytes:
        """Return what is on the screen, as PNG."""

    @abstractmethod
    def quit(self) -> None:
        """Close the browser."""

    # In every engine alike

    def is_so(self, expression: str, given: Any = None) -> bool:
        """Whether an expression holds in the page; not while it is being opened anew."""
        try:
            return bool(self.run(f"return {expression};", given))
        except Interrupted:
            return False

    def wait_until(self, expression: str, given: Any = None) -> None:
        """Wait until an expression holds in the page."""
        begun = time.monotonic()
        while not self.is_so(expression, given):
            if time.monotonic() - begun > LONGEST:
                seen = self.run(
                    "return [location.href, {...document.documentElement.dataset}, document.body.innerText];"
                )
                raise AssertionError(f"In {self.engine} never became true: {expression} of {given}. The page: {seen}")
            time.sleep(PAUSE)

    def wait_for(self, **state: str) -> None:
        """Wait until <html> has these data: `wait_for(offline="ready")`."""
        self.wait_until("Object.entries(given).every(([k, v]) => document.documentElement.dataset[k] === v)", state)

    def wait_to_see(self, selector: str) -> None:
        """Wait until something is on the page and not hidden."""
        self.wait_until("document.querySelector(given)?.checkVisibility()", selector)

    def sees(self, selector: str) -> bool:
        """Whether something is on the page and not hidden."""
        return self.is_so("document.querySelector(given)?.checkVisibility()", selector)

    def state(self, name: str) -> str:
        """Return a datum of <html>."""
        return self.run("return document.documentElement.dataset[given];", name)

    def text(self, selector: str) -> str:
        """Return the text that a reader sees there."""
        self.wait_until("document.querySelector(given)", selector)
        return self.run("return document.querySelector(given).innerText;", selector)

    def value(self, selector: str) -> str:
        """Return what stands in a control."""
        self.wait_until("document.querySelector(given)", selector)
        return self.run("return document.querySelector(given).value;", selector)

    def fill(self, selector: str, text: str) -> None:
        """Type into an empty control, key by key, or choose in a list."""
        self.wait_to_see(selector)
        tag = self.run("const c = document.querySelector(given); c.focus(); return c.tagName;", selector)
        if tag == "SELECT":
            self.run(
                "const c = document.querySelector(given[0]); c.value = given[1];"
                "for (const kind of ['input', 'change']) c.dispatchEvent(new Event(kind, { bubbles: true }));",
                [selector, text],
            )
        else:
            self.run("document.querySelector(given).select();", selector)
            self.press(*text)

    def start_anew(self) -> None:
        """Leave what the test before left."""
        self.close_other_tabs()
        self.open("about:blank")


class Chromium(Phone):
    """A fresh context of the browser that all of Playwright's tests share."""

    engine = "Chromium"

    def __init__(self, browser: Browser):
        self._context = browser.new_context(viewport={"width": WIDTH, "height": HEIGHT}, device_scale_factor=2)
        self._context.set_default_timeout(1000 * LONGEST)
        self._page = self._context.new_page()

    def open(self, url: str) -> None:
        if url.partition("#")[0] == self._page.url.partition("#")[0]:
            self._page.goto("about:blank")
        self._page.goto(url)

    def run(self, body: str, given: Any = None) -> Any:
        try:
            return told(self._page.evaluate(f"(given) => {PROMISE % body}", given))
        except PlaywrightError as problem:
            raise Interrupted(str(problem)) from None

    def click(self, selector: str) -> None:
        self._page.click(selector)

    def press(self, *keys: str) -> None:
        for key in keys:
            self._page.keyboard.press(key)

    def new_tab(self) -> str:
        self._page = self._context.new_page()
        return self.tab()

    def tab(self) -> str:
        return str(self._context.pages.index(self._page))

    def turn_to(self, tab: str) -> None:
        self._page = self._context.pages[int(tab)]
        self._page.bring_to_front()

    def close_other_tabs(self) -> None:
        for page in self._context.pages:
            if page is not self._page:
                page.close()

    def picture(self) -> bytes:
        return self._page.screenshot()

    def quit(self) -> None:
        self._context.close()


class Firefox(Phone):
    """Firefox without a window, by its own protocol; Mozilla's driver program is not needed."""

    engine = "Firefox"

    def __init__(self):
        from marionette_driver import By, errors
        from marionette_driver.keys import Keys
        from marionette_driver.marionette import Marionette

        self._folder = tempfile.TemporaryDirectory()
        self._by, self._keys, self._errors = By.CSS_SELECTOR, Keys, errors.MarionetteException
        self._firefox = Marionette(
            bin=firefox_path(),
            port=0,
            headless=True,
            gecko_log=str(Path(self._folder.name) / "log"),
        )
        self._firefox.start_session()
        self._firefox.timeout.script = self._firefox.timeout.page_load = LONGEST
        self._firefox.set_window_rect(width=WIDTH, height=HEIGHT)

    def open(self, url: str) -> None:
        if "#" in url:
            self._firefox.navigate("about:blank")
        self._firefox.navigate(url)

    def run(self, body: str, given: Any = None) -> Any:
        try:
            return told(self._firefox.execute_async_script(CALLED_BACK % body, script_args=(given,)))
        except self._errors as problem:
            raise Interrupted(str(problem)) from None

    def click(self, selector: str) -> None:
        self.wait_to_see(selector)
        self._firefox.find_element(self._by, selector).click()

    def press(self, *keys: str) -> None:
        named = {"Tab": self._keys.TAB, "Enter": self._keys.ENTER, "Space": " "}
        pressed = self._firefox.actions.sequence("key", "keyboard")
        for key in keys:
            pressed.key_down(named.get(key, key)).key_up(named.get(key, key))
        pressed.perform()

    def new_tab(self) -> str:
        self.turn_to(self._firefox.open(type="tab")["handle"])
        return self.tab()

    def new_private_window(self) -> None:
        """Open a window that forgets, and turn to it."""
        self.turn_to(self._firefox.open(type="window", private=True)["handle"])

    def tab(self) -> str:
        return self._firefox.current_window_handle

    def turn_to(self, tab: str) -> None:
        self._firefox.switch_to_window(tab)

    def close_other_tabs(self) -> None:
        kept = self.tab()
        for tab in self._firefox.window_handles:
            if tab != kept:
                self.turn_to(tab)
                self._firefox.close()
        self.turn_to(kept)

    def picture(self) -> bytes:
        return base64.b64decode(self._firefox.screenshot(full=False))

    def quit(self) -> None:
        self._firefox.quit()
        self._firefox.cleanup()
        self._folder.cleanup()


class WebKit(Phone):
    """WebKitGTK's small browser on a screen of its own that nobody sees."""

    engine = "WebKit"

    def __init__(self):
        from selenium import webdriver
        from selenium.common.exceptions import WebDriverException
        from selenium.webdriver.common.keys import Keys
        from selenium.webdriver.remote.client_config import ClientConfig
        from selenium.webdriver.remote.remote_connection import RemoteConnection
        from selenium.webdriver.webkitgtk.service import Service

        self._screen, display = unseen_screen()
        options = webdriver.WebKitGTKOptions()
        options.binary_location = str(mini_browser())
        options.add_argument("--automation")
        unboxed = {"WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"} if os.geteuid() == 0 else {}
        self._driver = Service(shutil.which("WebKitWebDriver"), env={**os.environ, "DISPLAY": display, **unboxed})
        try:
            self._driver.start()
            impatient = ClientConfig(self._driver.service_url, timeout=2 * LONGEST)  # else it would wait for ever
            self._webkit = webdriver.Remote(RemoteConnection(client_config=impatient), options=options)
        except BaseException:
            self._end()
            raise
        self._keys, self._errors = Keys, WebDriverException
        self._webkit.set_script_timeout(LONGEST)
        self._webkit.set_window_size(WIDTH, HEIGHT)

    def open(self, url: str) -> None:
        if "#" in url:
            self._webkit.get("about:blank")
        self._webkit.get(url)

    def run(self, body: str, given: Any = None) -> Any:
        try:
            return told(self._webkit.execute_async_script(CALLED_BACK % body, given))
        except self._errors as problem:
            raise Interrupted(str(problem)) from None

    def click(self, selector: str) -> None:
        self.wait_to_see(selector)
        self._webkit.find_element("css selector", selector).click()

    def press(self, *keys: str) -> None:
        from selenium.webdriver import ActionChains

        named = {"Tab": self._keys.TAB, "Enter": self._keys.ENTER, "Space": self._keys.SPACE}
        pressed = ActionChains(self._webkit, duration=0)
        for key in keys:
            pressed.send_keys(named.get(key, key))
        pressed.perform()

    def new_tab(self) -> str:
        self._webkit.switch_to.new_window("tab")
        return self.tab()

    def tab(self) -> str:
        return self._webkit.current_window_handle

    def turn_to(self, tab: str) -> None:
        self._webkit.switch_to.window(tab)

    def close_other_tabs(self) -> None:
        kept = self.tab()
        for tab in self._webkit.window_handles:
            if tab != kept:
                self.turn_to(tab)
                self._webkit.close()
        self.turn_to(kept)

    def picture(self) -> bytes:
        return self._webkit.get_screenshot_as_png()

    def quit(self) -> None:
        try:
            with suppress(self._errors):
                self._webkit.quit()
        finally:
            self._end()

    def _end(self) -> None:
        """End what was started for the browser; without its screen it ends too."""
        self._driver.stop()
        self._screen.kill()
        self._screen.wait()


def told(answer: dict) -> Any:
    """Return what a script returned, or raise what went wrong in it."""
    if "problem" in answer:
        raise AssertionError(answer["problem"])
    return answer.get("value")


# What is on this machine


def firefox_path() -> str | None:
    """Return where Firefox is, or None."""
    return shutil.which("firefox-esr") or shutil.which("firefox")


def mini_browser() -> Path | None:
    """Return where WebKitGTK's small browser is, or None: the newest, where there are several."""
    return max(Path("/usr").glob("lib*/**/webkit*gtk-*/MiniBrowser"), default=None)


def unseen_screen() -> tuple[subprocess.Popen, str]:
    """Start a screen in memory; return its process and its name."""
    reading, writing = os.pipe()
    command = ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1024x900x24", "-nolisten", "tcp"]
    screen = subprocess.Popen(command, pass_fds=[writing], stderr=subprocess.DEVNULL)
    os.close(writing)
    with os.fdopen(reading) as told_by_it:
        return screen, f":{told_by_it.readline().strip()}"


def missing(engine: str) -> str | None:
    """Return a sentence that says what an engine needs and is not here, or None."""
    needed: dict[str, dict[str, Callable[[], object]]] = {
        "Chromium": {},
        "Firefox": {"firefox-esr": firefox_path},
        "WebKit": {
            "webkit2gtk-driver": lambda: shutil.which("WebKitWebDriver") and mini_browser(),
            "xvfb": lambda: shutil.which("Xvfb"),
        },
    }
    packages = [package for package, found in needed[engine].items() if not found()]
    if not packages:
        return None
    return f"{engine} cannot be driven here. On Debian: sudo apt install {' '.join(packages)}"


ENGINES = ("Chromium", "Firefox", "WebKit")
