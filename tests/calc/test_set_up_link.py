"""The set-up's link: any set-up survives it, version 1 stays readable for good, and no changed character passes."""

import base64
import hashlib
import json
import random
import string
import zlib

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from calc.setup import demos
from calc.setup.file import LARGEST
from calc.setup.link import DAMAGED, LONGEST, NEWER, VERSION, dictionary, from_link, to_link
from calc.setup.model import MODEL, SetUp, SetUpError, give_out, take_in
from tests.calc.set_up_strategies import fullest, model_with_one_more_field, set_ups
from tests.calc.test_set_up_model import HOSTILE, sentence

LONGEST_OF_A_DEMO = 700
"""Bytes of `#set-up=…`: a square code that a phone reads from another's screen holds that with ease."""

FROZEN_DICTIONARY = "eccb41c9556edfa7b5974849f8702a40346de62475fd325623546188acbc5f1a"
"""SHA-256 of the dictionary of version 1. Every link that was ever given away needs these very bytes to be read again:
a better dictionary comes with version 2, in a file of its own."""

EMPTY = SetUp("", {})
GOLDEN = {
    (
        "1XIQ36b2XPQ7CMAyFr1IxwVKlTkzbCbGBxMDABSIKtAJloKjnx_xVSRsc2oELPFv2956Ttrt1fdGmiBptomllGurvUMzGOACx74E"
        "k413wSjjXBYu-ARJFCA4hPhU282o49DlyzEMXehCDsAf0gC_hr-gDZY1Nvxgf4yhcF0g3zBVXx-syq0QrCq6oiDNO9rOvd4eq3-F"
        "vRpVU5ptXIYtC52hFeNBj6qiNo5rEc-ZQ5cFLtalO5a3uSAIjiUHJbUmDcyU5QRkU3F31_vxcrTVN2tKy8y2aeH5U3sB73CE-8zC"
        "NVSj37g"
    ): "fd9bbfba71d633466eec9e4e17fb7163d4263a771a489be3a9cb23bd8df2f1f1",
    (
        "1v9gfd5WWuw7CMAxFfyUjDER5FcJUIRDsLMwVRFDxVCkMSPw7bdJCEtwE5srXTuVzr9_TzdRVFSUqi9t6j3r56V5NqDb9AAPaPUA"
        "IZPKNgRBhEGzn83ngeAzxIMmfRDSx4O71mNhc8CgYdR64YDAPjDZL36LUh0PIbjx0-ttwUGHe6R4Z1U_h8EVCGZbmS3O4pPDSU5z"
        "Yez9Ek9XiJ_9m_vJra7D337NxEewEAvYdElCT3yir23eBNiIoliXzQqmHnvAj2S2YRtSm2fGCDvl2V14dRYZpILRENLWW2SY_O4o"
        "hPenrNcBADsMIiZjMwGyEHqetqqmwqnioDLQnY-0fCgiQCM_nCw"
    ): "5ffd85647ff0dc75073c5bfd75d1ceb8af3303a8ed774f8532cd08d7d5bf4bc9",
}
"""Links of version 1 as they were given away, and the SHA-256 of what they hold."""


def refused(text, model=MODEL):
    """Return the sentence with which a link is refused."""
    with pytest.raises(SetUpError) as problem:
        from_link(text, model)
    return sentence(problem)


def packed(content: bytes, version: str = VERSION) -> str:
    """Return a link that is whole, whatever it holds."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_DEFAULT_STRATEGY, dictionary())
    return sealed(packer.compress(content) + packer.flush(), version)


def sealed(blob: bytes, version: str = VERSION) -> str:
    return version + base64.urlsafe_b64encode(zlib.crc32(blob).to_bytes(4, "big") + blob).decode().rstrip("=")


def fingerprint(s: SetUp) -> str:
    return hashlib.sha256(json.dumps(give_out(s), sort_keys=True).encode()).hexdigest()


# Round trips


@given(set_ups())
@example(EMPTY)
@example(fullest("\U0001f50b" * 60))
def test_any_set_up_survives_a_link(s):
    assert from_link(to_link(s)) == s


def test_the_fullest_set_up_of_the_least_packable_text_survives():
    chance = random.Random(1)
    signs = [chr(c) for c in range(0x20000, 0x2A000)]
    s = fullest("x")
    for place in list(s.places()):
        s = s.changed(place, "".join(chance.choices(signs, k=60)))
    link = to_link(s)
    assert len(link) < LONGEST
    assert from_link(link) == s


@pytest.mark.parametrize("name", demos.NAMES)
def test_a_demo_fits_a_square_code(name):
    link = f"#set-up={to_link(demos.demo(name))}"
    assert len(link.encode()) <= LONGEST_OF_A_DEMO
    assert set(link[8:]) <= set(string.ascii_letters + string.digits + "-_")


# What was given away stays readable


def test_the_dictionary_of_version_1_is_frozen():
    assert hashlib.sha256(dictionary()).hexdigest() == FROZEN_DICTIONARY


@pytest.mark.parametrize("link", GOLDEN)
def test_a_link_of_version_1_stays_readable(link):
    s = from_link(link)
    assert fingerprint(s) == GOLDEN[link]
    assert not s.problems()


def test_a_golden_link_holds_what_it_held():
    island, desert = (from_link(link) for link in GOLDEN)
    assert island.name == "Island van (invented)" and desert.name == "Desert truck (invented)"
    assert island.typed("load", 4, "current") == "30 mA"
    assert desert.typed("run", 1, "size") == "6 AWG"


# Damage


@pytest.mark.parametrize("name", demos.NAMES)
def test_no_changed_character_passes(name):
    link = to_link(demos.demo(name))
    signs = string.ascii_letters + string.digits + "-_+/=.% \x00é"
    for place in range(len(link)):
        for sign in signs:
            if sign != link[place]:
                changed = link[:place] + sign + link[place + 1 :]
                with pytest.raises(SetUpError) as problem:
                    from_link(changed)
                newer = place == 0 and sign in "23456789"
                assert str(problem.value) == (NEWER if newer else DAMAGED)


@pytest.mark.parametrize("name", demos.NAMES)
def test_no_link_cut_short_or_made_longer_passes(name):
    link = to_link(demos.demo(name))
    for length in range(len(link)):
        assert refused(link[:length]) == DAMAGED
    for more in ("A", "AA", "AAAA", "=", "==", "\n", " ", "&x=1", link):
        assert refused(link + more) == DAMAGED
        assert refused(more + link) in (DAMAGED, NEWER)


@pytest.mark.parametrize("name", demos.NAMES)
def test_no_flipped_bit_passes(name):
    link = to_link(demos.demo(name))
    blob = base64.urlsafe_b64decode(link[1:] + "=" * (-len(link[1:]) % 4))
    for bit in range(8 * len(blob)):
        flipped = bytearray(blob)
        flipped[bit // 8] ^= 1 << bit % 8
        assert refused("1" + base64.urlsafe_b64encode(flipped).decode().rstrip("=")) == DAMAGED


@given(st.text(max_size=300) | st.text(string.ascii_letters + string.digits + "-_", max_size=300).map("1".__add__))
def test_any_text_gives_a_sentence(text):
    refused(text)


@given(st.binary(max_size=200))
def test_any_whole_link_gives_a_set_up_or_a_sentence(content):
    for link in (packed(content), sealed(content)):
        try:
            from_link(link)
        except SetUpError as problem:
            sentence(problem)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", DAMAGED),
        (b"{", DAMAGED),
        (b"\xff\xfe", DAMAGED),
        (b"[" * 60_000, DAMAGED),
        (b'{"a":' * 12_000, DAMAGED),
        (b"9" * 60_000, DAMAGED),
        (b"{}" + b" " * LARGEST, DAMAGED),
        (b" " * 5_000_000, DAMAGED),
        (b"\x00" * 50_000_000, DAMAGED),
        (b'{"name":"a","name":"b"}', DAMAGED),
        (b'{"mains":{"rating":"5","rating":"6"}}', DAMAGED),
        (b"null", "not a set-up"),
        (b"[]", "not a set-up"),
        (b"NaN", "not a set-up"),
        (b'{"name":"\\ud800"}', "plain text"),
        (b'{"name":"a\\u0000"}', "plain text"),
        (b'{"mains":{"rating":1e999}}', "plain text"),
        (b'{"mains":{"rating":NaN}}', "plain text"),
        (b'{"mains":[{"rating":"5"}]}', "one group of fields"),
        (b'{"load":{"current":"5"}}', "a list, one for each"),
        (b'{"__proto__":{}}', "__proto__"),
        (b'{"format":"second-battery-set-up"}', "format"),
    ],
    ids=range(22),
)
def test_a_whole_link_with_hostile_content_is_refused(content, said):
    link = packed(content)
    assert said in refused(link)


def test_a_small_link_cannot_unpack_to_megabytes():
    bomb = packed(b" " * 3_000_000)
    assert len(bomb) < LONGEST
    assert refused(bomb) == DAMAGED


@pytest.mark.parametrize("data", [data for data in HOSTILE if isinstance(data, dict)])
def test_what_no_set_up_may_hold_no_link_may_hold(data):
    refused(packed(json.dumps(data).encode("utf-8", "surrogatepass")))


def test_what_follows_the_packed_bytes_is_damage():
    packer = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_DEFAULT_STRATEGY, dictionary())
    blob = packer.compress(b"{}") + packer.flush()
    assert from_link(sealed(blob)) == EMPTY
    assert refused(sealed(blob + b"\x00")) == DAMAGED
    assert refused(sealed(blob[:-1])) == DAMAGED


@pytest.mark.parametrize("version", "23456789")
def test_a_newer_link_asks_for_the_newer_edition(version):
    assert refused(packed(b"{}", version)) == NEWER
    assert refused(version) == NEWER


@pytest.mark.parametrize(
    "text", ["", "0", "1", "x", "²", "٢", "1" * (LONGEST + 1), "1" + "A" * 100_000, "1====", "1\ud800"]
)
def test_what_is_no_link_is_damaged(text):
    assert refused(text) == DAMAGED


# One declaration


def test_a_field_more_in_the_declaration_goes_by_link():
    model = model_with_one_more_field()
    s = take_in({"second": [{"rested_at": "12.5 V"}]}, model)
    assert from_link(to_link(s), model) == s
    assert "rested_at" in refused(to_link(s))
