"""What is packed for the way to the phone is unpacked there to the byte; what was damaged on the way is not taken."""

import hashlib
import json
import random

import pytest

from site_src import packing, runtime

UNPACKER = packing.__spec__.origin.replace("packing.py", "static/unpack.js")

ASK = """
const { readFileSync } = require("node:fs");
const { createHash } = require("node:crypto");
const unpack = require("node:vm").runInThisContext(`${readFileSync(process.argv[2], "utf8")}; unpack`);
const told = JSON.parse(readFileSync(0, "utf8")).map(({ packed, size }) => {
  try {
    return createHash("sha256").update(unpack(new Uint8Array(Buffer.from(packed, "hex")), size)).digest("hex");
  } catch (problem) {
    return problem instanceof RangeError ? "refused" : String(problem);
  }
});
console.log(JSON.stringify(told));
"""

DICE = random.Random(12)


def texts() -> list[bytes]:
    """Contents of every kind: none, one byte, noise, runs, far repeats, words, and mixtures of all."""
    noise = DICE.randbytes(5000)
    words = [DICE.randbytes(DICE.randint(1, 9)) for _ in range(50)]
    made = [b"", b"a", b"ab", b"a" * 100_000, noise, noise + bytes(300_000) + noise, bytes(range(256)) * 40]
    for _ in range(60):
        parts = [DICE.choice((DICE.choice(words), DICE.randbytes(3), b"\0" * DICE.randint(1, 600))) for _ in range(900)]
        made.append(b"".join(parts))
    made.append(b"".join(made) + bytes(20_000_000) + b"".join(made))
    return made


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """Unpack under node: each result's hash, or "refused"."""
    program = tmp_path_factory.mktemp("node") / "ask.cjs"
    program.write_text(ASK, "utf-8")

    def ask(cases: list[tuple[bytes, int]]) -> list[str]:
        told = json.dumps([{"packed": packed.hex(), "size": size} for packed, size in cases])
        return json.loads(runtime.call([runtime.node(), program, UNPACKER], "unpack.js failed under node.", told))

    return ask


@pytest.fixture
def own_cache(tmp_path, monkeypatch):
    """A cache for results that nobody needs again."""
    monkeypatch.setattr(runtime, "CACHE", tmp_path)


def test_every_content_comes_back_to_the_byte(unpacked, own_cache):
    contents = texts()
    told = unpacked([(packing.squeezed(content), len(content)) for content in contents])
    assert told == [hashlib.sha256(content).hexdigest() for content in contents]


def test_what_was_damaged_is_refused_or_wrong_but_ends(unpacked, own_cache):
    content = b"".join(b"cable %d\n" % (i * i % 977) for i in range(3000))
    small = packing.squeezed(content)
    right = hashlib.sha256(content).hexdigest()
    damaged = [small[: DICE.randrange(len(small) // 2)] for _ in range(30)]
    for _ in range(300):
        at = DICE.randrange(1, len(small) // 2)
        damaged.append(small[:at] + bytes([small[at] ^ DICE.randint(1, 255)]) + small[at + 1 :])
    told = unpacked([(each, len(content)) for each in damaged])
    assert right not in told
    assert all(each == "refused" or len(each) == 64 for each in told), set(told)


def test_packs_hold_each_file_once_and_what_changes_apart_lies_apart():
    files = {f"e/1/engine/{name}": name.encode() for name in ("a.wasm", "b.js", "python.zip", "book.zip")}
    files |= {"index.html": b"home", "e/1/style.css": b"style", "checks/x/index.html": b"check"}
    groups = packing.together(files)
    assert sorted(path for group in groups for path in group) == sorted(files)
    assert [sorted(group) for group in groups] == [
        ["e/1/engine/a.wasm", "e/1/engine/b.js"],
        ["e/1/engine/python.zip"],
        ["e/1/engine/book.zip"],
        ["checks/x/index.html", "e/1/style.css", "index.html"],
    ]


def test_pieces_follow_one_another_and_are_named_by_their_content(unpacked, own_cache):
    content = DICE.randbytes(3 * packing.PIECE)
    [pack], pieces = packing.packed({"index.html": content, "about/index.html": b"about"})
    assert [file["path"] for file in pack["files"]] == ["about/", ""]
    assert [len(pieces[packing.place(piece["hash"])]) for piece in pack["pieces"]] == [
        piece["bytes"] for piece in pack["pieces"]
    ]
    assert len(pack["pieces"]) > 3
    small = b"".join(pieces[packing.place(piece["hash"])] for piece in pack["pieces"])
    assert unpacked([(small, len(content) + 5)]) == [hashlib.sha256(b"about" + content).hexdigest()]


def test_an_edition_that_keeps_a_pack_keeps_its_pieces(own_cache):
    one = packing.packed({"e/1/engine/python.zip": b"library" * 99, "index.html": b"one"})
    other = packing.packed({"e/2/engine/python.zip": b"library" * 99, "index.html": b"two"})
    assert one[0][0]["pieces"] == other[0][0]["pieces"]
    assert one[0][1]["pieces"] != other[0][1]["pieces"]
