"""Python for the phone: only what is pinned is used, and what ships is enough, the same every time, and works."""

import base64
import hashlib
import io
import json
import tarfile
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from site_src import runtime, serve
from site_src.trouble import Trouble
from tests.browser.find_browser import find_browser

BOOK = {
    "leaflet/__init__.py": b'''"""A book of one page."""
from decimal import Decimal


def title():
    """The title, from the data file."""
    return __spec__.loader.get_data(__file__.rpartition("/")[0] + "/title.txt").decode()


def twice(text):
    """Doubles a number."""
    return str(Decimal(text) * 2)
''',
    "leaflet/title.txt": "Zweite Batterie ½".encode(),
}
EXERCISE = """
import leaflet, pint, jinja2
assert leaflet.title() == "Zweite Batterie \\u00bd"
assert leaflet.twice("1.05") == "2.10"
units = pint.UnitRegistry(None)
units.define("meter = [length] = m")
units.define("foot = 0.3048 * meter = ft")
assert units.Quantity(10, "foot").to("meter").magnitude == 3.048
assert jinja2.Template("{{ 1 + 1 }}").render() == "2"
"""


def silent(_: str) -> None:
    """Nobody listens."""


@pytest.fixture(scope="module")
def engine() -> runtime.Files:
    return runtime.engine_files(BOOK, silent, EXERCISE)


@pytest.fixture
def own_cache(tmp_path, monkeypatch) -> Path:
    monkeypatch.setattr(runtime, "CACHE", tmp_path)
    return tmp_path


def run(engine: runtime.Files, tmp_path: Path, program: str, text: str = "") -> str:
    path = tmp_path / "program.py"
    path.write_text(program, "utf-8")
    return runtime.run_python(engine, path, text)


# Only what is pinned


def test_a_runtime_that_is_not_the_pinned_one_is_refused():
    pinned = "sha512-" + base64.b64encode(hashlib.sha512(b"runtime").digest()).decode()
    assert runtime.checked(b"runtime", pinned) == b"runtime"
    with pytest.raises(Trouble, match="not the pinned one, and is not used"):
        runtime.checked(b"runtime!", pinned)


def package(files: dict[str, bytes]) -> bytes:
    archive = io.BytesIO()
    with tarfile.open(fileobj=archive, mode="w:gz") as tar:
        for name, content in files.items():
            entry = tarfile.TarInfo(f"package/{name}")
            entry.size = len(content)
            tar.addfile(entry, io.BytesIO(content))
    return archive.getvalue()


def test_harm_to_the_cached_runtime_is_seen(tmp_path):
    assert not runtime.unharmed(tmp_path)
    runtime.unpack(package({name: name.encode() for name in runtime.PACKED} | {"README.md": b""}), tmp_path)
    assert runtime.unharmed(tmp_path)
    assert not (tmp_path / "README.md").exists()
    (tmp_path / "pyodide.asm.wasm").write_bytes(b"cut sho")
    assert not runtime.unharmed(tmp_path)
    (tmp_path / "pyodide.asm.wasm").unlink()
    assert not runtime.unharmed(tmp_path)


def test_a_fetched_runtime_needs_no_network(monkeypatch):
    runtime.fetch_runtime(silent)
    monkeypatch.setattr(runtime, "pack", lambda _: pytest.fail("fetched again"))
    runtime.fetch_runtime(pytest.fail)


def test_a_wheel_that_is_not_the_pinned_one_is_refused_and_removed(own_cache):
    wheel = own_cache / "wheels/pint-1.0/pint-1.0-py3-none-any.whl"
    wheel.parent.mkdir(parents=True)
    wheel.write_bytes(b"something else")
    with pytest.raises(Trouble, match="pint-1.0-py3-none-any.whl is not the pinned one, and was removed"):
        runtime.phone_wheel("pint", {"version": "1.0", "sha256": "0" * 64}, silent)
    assert not wheel.exists()


def test_fetched_wheels_need_no_network(monkeypatch):
    names = [wheel.name.partition("-")[0].lower() for wheel in runtime.phone_wheels(silent)]
    assert names == list(runtime.pins()["tool"]["fieldbook"]["phone"])
    monkeypatch.setattr(runtime, "pip", lambda *_: pytest.fail("fetched again"))
    runtime.phone_wheels(pytest.fail)


def test_an_old_node_is_passed_over_for_the_packaged_one(tmp_path, monkeypatch):
    monkeypatch.setattr(runtime.shutil, "which", lambda _: "/usr/bin/node")
    monkeypatch.setattr(runtime, "node_wheel", lambda: tmp_path)
    monkeypatch.setattr(runtime, "major_version", lambda _: 18)
    assert tmp_path in runtime.node().parents
    monkeypatch.setattr(runtime, "major_version", lambda _: 20)
    assert runtime.node() == Path("/usr/bin/node")


def test_a_failed_program_is_said_with_its_last_words():
    with pytest.raises(Trouble, match="(?s)oh no.*Try tomorrow"):
        runtime.call([runtime.node(), "-e", "console.error('oh no'); process.exit(3)"], "Try tomorrow.")


# What ships


def test_the_engine_is_whole(engine):
    assert sorted(engine) == [
        "book.zip",
        "pyodide-lock.json",
        "pyodide.asm.js",
        "pyodide.asm.wasm",
        "pyodide.js",
        "python.zip",
    ]


def test_the_licence_of_everything_that_ships_is_told():
    text = runtime.licences(silent)
    assert all(
        f"\n{name} {pin['version']}\n" in text for name, pin in runtime.pins()["tool"]["fieldbook"]["phone"].items()
    )
    assert "MPL-2.0" in text
    assert "PSF-2.0" in text
    assert text.count("----") >= 7


def test_the_loader_names_only_files_that_ship(engine):
    loader = engine["pyodide.js"].decode()
    assert "pyodide.asm.js" in loader
    assert ".mjs" not in loader
    assert "sourceMappingURL" not in loader + engine["pyodide.asm.js"].decode()


def test_the_lock_names_the_runtime_and_no_package(engine):
    lock = json.loads(engine["pyodide-lock.json"])
    assert lock["packages"] == {}
    assert lock["info"]["arch"] == "wasm32"


def test_the_library_is_bytecode_that_is_never_checked_against_a_source(engine):
    files = runtime.unzipped(engine["python.zip"])
    assert all(name.endswith(".pyc") for name in files)
    assert len({content[:4] for content in files.values()}) == 1
    assert {content[4:8] for content in files.values()} == {(1).to_bytes(4, "little")}


def test_the_library_is_trimmed_to_what_is_used(engine):
    names = set(runtime.unzipped(engine["python.zip"]))
    assert {"decimal.pyc", "pint/__init__.pyc", "jinja2/environment.pyc", "traceback.pyc"} <= names
    assert not any(name.startswith(("unittest/", "sqlite3/", "http/", "jinja2/sandbox")) for name in names)
    assert len(engine["python.zip"]) < 6_000_000


def test_data_files_of_the_book_ship_as_they_are(engine):
    files = runtime.unzipped(engine["book.zip"])
    assert set(files) == {"leaflet/__init__.pyc", "leaflet/title.txt"}
    assert files["leaflet/title.txt"] == BOOK["leaflet/title.txt"]


def test_the_engine_answers(engine, tmp_path):
    program = "import json, sys, leaflet; print(json.dumps(leaflet.twice(json.load(sys.stdin)) + leaflet.title()))"
    assert json.loads(run(engine, tmp_path, program, '"0.35"')) == "0.70Zweite Batterie ½"


def test_an_error_in_the_library_names_its_functions(engine, tmp_path):
    with pytest.raises(
        Trouble, match=r"(?s)program.py\", line 2.*json/__init__.py\", line \d+, in loads.*in raw_decode"
    ):
        run(engine, tmp_path, "import json\njson.loads('{')")


def test_the_book_keeps_its_docstrings(engine, tmp_path):
    assert run(engine, tmp_path, "import leaflet; print(leaflet.twice.__doc__)") == "Doubles a number.\n"


def test_an_error_comes_with_the_way_to_it(engine, tmp_path):
    with pytest.raises(Trouble) as trouble:
        run(engine, tmp_path, "import leaflet; leaflet.twice('x')")
    words = str(trouble.value)
    assert "leaflet/__init__.py" in words
    assert "decimal.InvalidOperation" in words
    assert "program.py failed in the phone's Python." in words


# Proved, and the same every time


@pytest.fixture
def made_anew(monkeypatch):
    """Nothing is remembered but the whole library."""
    remember = runtime.remember
    monkeypatch.setattr(
        runtime, "remember", lambda kind, inputs, make: remember(kind, inputs, make) if kind == "library" else make()
    )


def test_same_inputs_make_the_same_bytes(engine, made_anew):
    assert runtime.engine_files(BOOK, silent, EXERCISE) == engine


def test_a_change_in_the_book_changes_the_book_alone(engine):
    edited = BOOK | {"leaflet/__init__.py": BOOK["leaflet/__init__.py"] + b"\n\ndef more():\n    return 1\n"}
    changed = runtime.engine_files(edited, silent, EXERCISE)
    assert [name for name in engine if engine[name] != changed[name]] == ["book.zip"]


def test_an_unchanged_engine_is_not_made_again(engine, monkeypatch):
    monkeypatch.setattr(runtime, "call", lambda *_: pytest.fail("started the engine"))
    assert runtime.engine_files(BOOK, silent, EXERCISE) == engine


def test_a_library_that_lacks_a_used_file_is_not_shipped(engine, made_anew, monkeypatch):
    attempt = runtime.attempt
    monkeypatch.setattr(
        runtime,
        "attempt",
        lambda files, job, otherwise: [name for name in attempt(files, job, otherwise) if name != "decimal.pyc"],
    )
    with pytest.raises(Trouble, match="(?s)No module named 'decimal'.*not with the part that would ship"):
        runtime.engine_files(BOOK, silent, EXERCISE)


def test_a_book_that_fails_on_the_phone_is_not_shipped(engine):
    with pytest.raises(Trouble, match="(?s)AssertionError: thin.*does not work in the phone's Python"):
        runtime.engine_files(BOOK, silent, "assert False, 'thin'")


def test_python_that_does_not_compile_is_said(engine):
    with pytest.raises(Trouble, match="(?s)SyntaxError.*could not be compiled"):
        runtime.engine_files({"leaflet/__init__.py": b"def"}, silent, EXERCISE)


def test_an_archive_depends_on_nothing_but_its_files():
    one = runtime.stored_zip({"b": b"2", "a": b"1"})
    assert one == runtime.stored_zip({"a": b"1", "b": b"2"})
    with zipfile.ZipFile(io.BytesIO(one)) as archive:
        assert archive.namelist() == ["a", "b"]
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_results_are_remembered_by_their_inputs(own_cache):
    made = []

    def make() -> bytes:
        made.append(1)
        return b"result"

    for inputs in ([b"a"], [b"a"], [b"b"], [b"a"]):
        assert runtime.remember("kind", inputs, make) == b"result"
    assert len(made) == 2


def test_the_cache_does_not_grow_without_end(own_cache):
    for number in range(20):
        runtime.remember("kind", [bytes([number])], lambda: b"result")
    assert len(list((own_cache / "engine/kind").iterdir())) == runtime.KEPT


# In a browser

PAGE = """<!doctype html>
<title>engine</title><link rel="icon" href="data:,"><script type="module" src="page.js"></script>
"""
PAGE_SCRIPT = """
const worker = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
worker.onmessage = ({ data }) => { document.title = data; };
worker.onerror = () => { document.title = "failed"; };
"""
WORKER_SCRIPT = """
import createPyodideModule from "./engine/pyodide.asm.js";
import { loadPyodide } from "./engine/pyodide.js";

const folder = new URL("engine/", import.meta.url).href;
const book = await (await fetch(folder + "book.zip")).arrayBuffer();
const engine = await loadPyodide({
  createPyodideModule,
  indexURL: folder,
  stdLibURL: folder + "python.zip",
  lockFileContents: await (await fetch(folder + "pyodide-lock.json")).text(),
  packageBaseUrl: folder,
  env: { PYTHONPATH: "/lib/book.zip" },
  fsInit: async (FS) => FS.writeFile("/lib/book.zip", new Uint8Array(book)),
});
postMessage(engine.runPython("import leaflet; leaflet.twice")("1.05"));
"""


@pytest.mark.browser
def test_the_engine_starts_in_a_module_worker_under_the_strict_policy(engine, tmp_path):
    with ThreadPoolExecutor(1) as own_thread:  # another test may hold a browser in this one
        own_thread.submit(start_in_a_worker, engine, tmp_path).result()


def start_in_a_worker(engine, tmp_path):
    """Start the engine in a page's worker, and see what it computes."""
    from playwright.sync_api import expect, sync_playwright

    (tmp_path / "engine").mkdir()
    for name, content in engine.items():
        (tmp_path / "engine" / name).write_bytes(content)
    for name, text in {"index.html": PAGE, "page.js": PAGE_SCRIPT, "worker.js": WORKER_SCRIPT}.items():
        (tmp_path / name).write_text(text, "utf-8")
    chromium = find_browser(silent)
    with serve.start(tmp_path, prefix="/some/sub/path/") as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-background-networking"]
        )
        page = browser.new_page()
        elsewhere = []
        page.on(
            "request",
            lambda request: None if request.url.startswith(("data:", server.url)) else elsewhere.append(request.url),
        )
        page.goto(server.url)
        expect(page).to_have_title("2.10", timeout=60_000)
        assert elsewhere == []
        browser.close()
