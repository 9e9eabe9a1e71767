"""Faults at every file that an edition fetches, at installing and at updating, and what a phone is left with.

A phone is put through one fault after the other, each below a path of its own, which is a fresh book to it. What is
fetched is learnt by watching a whole install, so that nothing here knows how an edition is cut into files.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from playwright.sync_api import BrowserContext, Page

from site_src import builder, packing, settings
from tests.browser.conftest import edition, saved_list
from tests.browser.host import Fault, Host

WORKER = "sw.js"
SIGN_IN = b"<!DOCTYPE html><title>Free Wi-Fi</title><p>Sign in to go on."

ENDING = """
    const ending = (next) => new Promise((resolve) => {
      const tell = () => {
        if (["installed", "activated"].includes(next.state)) resolve("taken");
        if (next.state === "redundant") resolve("refused");
      };
      setTimeout(resolve, 30_000, "left hanging");
      next.addEventListener("statechange", tell);
      tell();
    });
"""

INSTALL = f"""async () => {{
    {ENDING}
    try {{
      const registration = await navigator.serviceWorker.register("sw.js", {{ updateViaCache: "none" }});
      const how = await ending(registration.installing ?? registration.waiting ?? registration.active);
      if (how === "taken") await navigator.serviceWorker.ready;
      return how;
    }} catch {{ return "refused"; }}
}}"""
"""Installs the book as its pages do, and tells how that ended."""

UPDATE = f"""async () => {{
    {ENDING}
    try {{
      const registration = await navigator.serviceWorker.getRegistration();
      await registration.update();
      const next = registration.installing ?? registration.waiting;
      return next ? await ending(next) : "refused";
    }} catch {{ return "refused"; }}
}}"""
"""Looks for a newer edition, and tells how its saving ended."""

TAKE_OVER = """async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    const { serviceWorker } = navigator;
    const over = new Promise((done) => serviceWorker.addEventListener("controllerchange", done, { once: true }));
    registration.waiting.postMessage({ kind: "take-over" });
    await Promise.race([over, new Promise((done) => setTimeout(done, 30_000))]);
}"""
"""Agrees to the newer edition."""

CONTROLLED = """async () => {
    const { serviceWorker } = navigator;
    if (serviceWorker.controller) return true;
    return new Promise((done) => {
      serviceWorker.addEventListener("controllerchange", () => done(true), { once: true });
      setTimeout(done, 30_000, false);
    });
}"""
"""Waits until the book's worker serves this page."""

NOT_WHOLE = """async (files) => {
    const hex = async (bytes) => [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))]
      .map((byte) => byte.toString(16).padStart(2, "0")).join("");
    const wrong = await Promise.all(files.map(async ({ path, hash }) => {
      const response = await fetch(path || "./").catch(() => null);
      const right = response?.ok && await hex(await response.arrayBuffer()) === hash;
      return right ? null : path;
    }));
    return wrong.filter((path) => path !== null);
}"""
"""The files of an edition that do not come as they were built."""

ON_ITS_WAY = 300
"""How long after a worker was killed the host may still hear what that one had asked for [ms]."""

LANDING = "landing"
HERE = {LANDING: Fault(200, "text/html", b"<!DOCTYPE html><title>.</title><link rel=icon href=data:,>")}
"""Where the phone stands: a page of no edition, so that only the faults move it."""

WRITTEN = {"field-book note": "kept", "another book's": "kept too"}
"""What stands in the phone's store before each fault, and has to stand there after it."""


class Case(NamedTuple):
    """A fault at one file: its kind, the path, what is sent, and whether the book may be taken all the same."""

    kind: str
    path: str
    fault: Fault
    harmless: bool = False
    kills: bool = False


def cases(host: Host, path: str, before: Callable[[str], bytes | None], fineness: int) -> Iterator[Case]:
    """Return every fault at one file, those of a transfer at so many places; `before` gives what was there before."""
    right, kind = host.content(path), settings.TYPES[path.rpartition(".")[2] if "." in path else "html"]
    half = len(right) // 2
    yield Case("missing", path, Fault(404, "text/html", b"Not found"))
    yield Case("server trouble", path, Fault(500, "text/html", b"Trouble"))
    yield Case("sign-in page", path, Fault(200, "text/html", SIGN_IN))
    yield Case("sent to a sign-in page", path, Fault(302, "text/html", b"", to="sign-in"))
    yield Case("half of it", path, Fault(200, kind, right[:half]))
    yield Case("wrong type", path, Fault(200, "text/plain", right), harmless=path != WORKER)
    for sent in places(right, fineness):
        yield Case("line broken", path, Fault(200, kind, right[:sent], ends="cut"))
    yield Case("line stalled, then broken", path, Fault(200, kind, right[:half], ends="stalled"))
    if path == WORKER:
        return  # a changed worker is another worker, and an empty one is a whole one: a browser cannot tell
    yield Case("nothing of it", path, Fault(200, kind, b""))
    for sent in places(right, fineness):
        yield Case("worker killed", path, Fault(200, kind, right[:sent], ends="stalled"), kills=True)
    for at in places(right, fineness):
        yield Case("a bit turned", path, Fault(200, kind, right[:at] + bytes([right[at] ^ 1]) + right[at + 1 :]))
    older = before(path)
    if older not in (None, right):
        yield Case("older content", path, Fault(200, kind, older))


def places(content: bytes, fineness: int) -> list[int]:
    """Return places in a transfer: its start, its last byte, and evenly between [bytes]."""
    last = len(content) - 1
    return sorted({last * n // (fineness - 1) for n in range(fineness)})


class Trial:
    """A phone put through faults.

    Attributes
    ----------
    harms : a sentence for every harm that was done
    tally : how often each kind of fault ended in which way
    """

    def __init__(self, context: BrowserContext, host: Host, older: Path, newer: Path):
        self._host, self._older, self._newer = host, older, newer
        self._host.faults = HERE
        self._page: Page = context.new_page()
        self._devices = context.new_cdp_session(self._page)
        self._devices.send("ServiceWorker.enable")
        self._count = 0
        self._whole = {folder: hashes(folder) for folder in (older, newer)}
        self.harms: list[str] = []
        self.tally: Counter[tuple[str, str]] = Counter()

    # What is fetched, learnt by watching

    def all_cases(self, fineness: int) -> tuple[list[Case], list[Case]]:
        """Return every fault at installing, and every one at updating."""
        self._arrive(self._older)
        self._host.asked.clear()
        self._page.evaluate(INSTALL)
        installing = self._fetched()
        self._host.folder = self._newer
        self._host.asked.clear()
        self._page.evaluate(UPDATE)
        updating = self._fetched()
        self._host.folder = self._older
        at_install = [case for path in installing for case in cases(self._host, path, lambda _: None, fineness)]
        old = {path: self._host.content(path) for path in installing}
        self._host.folder = self._newer
        return at_install, [case for path in updating for case in cases(self._host, path, old.get, fineness)]

    def _fetched(self) -> list[str]:
        return sorted({path for path in self._host.asked if path in ("", WORKER) or self._host.has(path)})

    # One fault

    def install(self, case: Case) -> None:
        """Put a fault in the way of the first install, then mend it."""
        self._arrive(self._older)
        how = self._under(case, INSTALL, None)
        self._judge(case, how, self._older if how == "taken" else None)
        if how == "refused":
            self._expect(self._page.evaluate(INSTALL) == "taken", case, "is not installed once it is mended")
            self._expect_whole(case, self._older, "after it was mended")
        self._expect_written(case)

    def update(self, case: Case) -> None:
        """Put a fault in the way of a newer edition, then mend it and go over to that edition."""
        self._arrive(self._older)
        self._page.evaluate(INSTALL)
        self._host.folder = self._newer
        how = self._under(case, UPDATE, self._older)
        self._judge(case, how, self._older)
        if how == "refused":
            self._expect(self._page.evaluate(UPDATE) == "taken", case, "is not offered once it is mended")
            self._expect_whole(case, self._older, "while the mended one waits")
        self._page.evaluate(TAKE_OVER)
        self._expect_whole(case, self._newer, "after it was agreed to")
        self._expect_written(case)

    def cut_the_worker(self, step: int) -> None:
        """Put a worker in the way that is cut off at every so many of its lines: none may replace a whole one."""
        self._arrive(self._older)
        self._page.evaluate(INSTALL)
        self._host.folder = self._newer
        lines = self._host.content(WORKER).splitlines(keepends=True)
        kind = settings.TYPES["js"]
        for end in range(1, len(lines), step):
            case = Case("worker cut at a line", WORKER, Fault(200, kind, b"".join(lines[:end])))
            how = self._under(case, UPDATE, None)
            self.tally[case.kind, how] += 1
            self._expect(how == "refused", case, f"was {how}")
        self._expect_whole(case, self._older, "after all of them")

    def _arrive(self, folder: Path) -> None:
        """Come to a book that this phone has never seen, where something is written."""
        self._count += 1
        self._host.folder = folder
        self._host.move(f"/{self._count}/")
        self._page.goto(self._host.url + LANDING)
        self._page.evaluate(
            "(all) => { for (const [k, v] of Object.entries(all)) localStorage.setItem(k, v); }", WRITTEN
        )

    def _under(self, case: Case, doing: str, serving: Path | None) -> str:
        """Return how something ended that was done under a fault; while it stalls, an edition has to be served."""
        self._host.faults = HERE | {case.path: case.fault}
        if case.fault.ends != "stalled":
            how = self._page.evaluate(doing)
        else:
            self._page.evaluate(f"() => {{ window.how = ({doing})(); }}")
            assert self._host.stalled.wait(20), f"{case.path} was not asked for"
            if serving:
                self._expect_whole(case, serving, "while it stalled", alone=False)
            if case.kills:
                self._devices.send("ServiceWorker.stopAllWorkers")
            self._host.let_go()
            how = self._page.evaluate("() => window.how")
            if case.kills:
                self._page.wait_for_timeout(ON_ITS_WAY)
        self._host.faults = HERE
        return how

    # Judging

    def _judge(self, case: Case, how: str, serving: Path | None) -> None:
        self.tally[case.kind, how] += 1
        self._expect(how == ("taken" if case.harmless else "refused"), case, f"was {how}")
        if serving:
            self._expect_whole(case, serving, f"after the fault was {how}")
        else:
            active = self._page.evaluate(
                "async () => Boolean((await navigator.serviceWorker.getRegistration())?.active)"
            )
            self._expect(not active, case, "left half a book that serves")

    def _expect_whole(self, case: Case, folder: Path, when: str, alone: bool = True) -> None:
        """Every file comes as it was built, and none from the network, unless something else is being fetched."""
        self._expect(self._page.evaluate(CONTROLLED), case, f"{when}, nothing serves")
        self._host.asked.clear()
        wrong = self._page.evaluate(NOT_WHOLE, self._whole[folder])
        self._expect(not wrong, case, f"{when}, edition {edition(folder)} is not whole: {wrong}")
        self._expect(not (alone and self._host.asked), case, f"{when}, the network was asked for {self._host.asked}")

    def _expect_written(self, case: Case) -> None:
        there = self._page.evaluate("() => ({ ...localStorage })")
        self._expect(there == WRITTEN, case, f"what was written is now {there}")

    def _expect(self, holds: bool, case: Case, otherwise: str) -> None:
        if not holds:
            self.harms.append(f"{case.kind} at {case.path or './'}, {len(case.fault.content)} bytes sent: {otherwise}")


def hashes(folder: Path) -> list[dict[str, str]]:
    """Return the path and the hash of every file that a whole edition serves, as they were built."""
    served = []
    for path in (file["path"] for file in saved_list(folder)):
        file = folder / path
        content = (file / "index.html" if file.is_dir() else file).read_bytes()
        served.append({"path": path, "hash": hashlib.sha256(content).hexdigest()})
    return served


def put_through(context: BrowserContext, editions: tuple[Path, Path], fineness: int, step: int, most: int) -> Trial:
    """Put a phone through faults on the way from nothing to the older edition, and from that to the newer.

    At most so many of each; those that are left out are so at random, the same ones each time.
    """
    with Host(editions[0]) as host:
        trial = Trial(context, host, *editions)
        for every, meet in zip(trial.all_cases(fineness), (trial.install, trial.update), strict=True):
            for case in random.Random(1).sample(every, min(most, len(every))):
                meet(case)
        trial.cut_the_worker(step)
    return trial


def table(tally: Counter[tuple[str, str]]) -> str:
    """Return the tally as a table."""
    kinds = sorted({kind for kind, _ in tally})
    rows = [f"| {kind:<26} | {tally[kind, 'refused']:>7} | {tally[kind, 'taken']:>11} |" for kind in kinds]
    head = f"| {'fault':<26} | refused | taken whole |\n|{'-' * 28}|{'-' * 9}|{'-' * 13}|"
    return "\n".join([head, *rows, f"{tally.total()} faults"])


# Small editions


PAGES = ("index.html", "missing/index.html", "404.html", "reset.html")
SCRIPTS = ("book.js", "engine.js", "style.css", "sw.js", "reset.js", "manifest.webmanifest", "icon.svg")


def small_edition(folder: Path, words: str) -> Path:
    """Build the book with few files and with stand-ins for the engine: all the builder does, in few bytes."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "PROMISE", words)
        patch.setattr(packing, "PIECE", SMALL_PIECE)
        few = {path: data for path, data in builder.pages().items() if path in PAGES}
        some = {path: data for path, data in builder.static().items() if path.endswith(SCRIPTS)}
        patch.setattr(builder, "pages", lambda: few | {"about/index.html": builder.about_page()})
        patch.setattr(builder, "static", lambda: some)
        patch.setattr(builder, "engine", lambda _: {name: stand_in(name, words) for name in ENGINE})
        patch.setattr(builder, "in_one_file", lambda _: b"")  # no phone fetches it
        builder.build(folder, lambda _: None)
    return folder


SMALL_PIECE = 40_000
"""So that a small edition too comes in several pieces [bytes]."""

ENGINE = ("pyodide.asm.js", "pyodide.asm.wasm", "book.zip")


def stand_in(name: str, words: str) -> bytes:
    """Return bytes that stand for a file of the engine, large enough to be packed where the engine's is."""
    size = 300 if name.endswith(".js") else 60_000
    return json.dumps([name, words]).encode() + random.Random(name + words).randbytes(size)
