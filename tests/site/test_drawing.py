"""The drawing of a set-up: whole, readable on a phone, safe to put into a page, and said in words as well."""

import re
import subprocess
import sys
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.fields import UNKNOWN, Choice, Number, Size
from calc.setup import demos
from calc.setup.model import MODEL, SetUp, take_in
from calc.setup.parts import PARTS
from site_src import drawing as module
from site_src.drawing import LINK, TEXT, WIDTH, description, drawing, fit, measure, plan, wrapped

SVG = "{http://www.w3.org/2000/svg}"
EVIL = ("<script>alert(1)</script>", "\"'><img src=x onerror=1>", "a & b < c", "$x^2$ \\sqrt{2}", "]]>&lt;", "{{ 7 }}")
LONG = "Compressor fridge with freezer, the big"
KINDS = tuple(LINK)


def whole(kind: str = "charger", back: str = "body", **counts: int) -> SetUp:
    """A set-up with everything given, and as many of each part as asked."""
    many = {"run": 2, "second": 1, "load": 2, "sun": 1, "link": 1} | counts
    link = {"kind": kind}
    if kind in ("switch", "relay", "charger"):
        link["rating"] = "140 A"
    if kind == "relay":
        link |= {"connects_at": "13.3 V", "disconnects_at": "12.8 V"}
    if kind == "charger":
        link |= {"profile": "agm", "solar_input": "0 W"}
    piece = {"length": "2.5 m", "size": "16 mm2", "zone": "engine_bay", "fuse": "60 A"}
    made = {
        "name": "Whole",
        "vehicle": {"earth_path": back},
        "alternator": {"kind": "compensating", "rated_output": "140 A"},
        "starter": {"chemistry": "calcium", "capacity": "72 Ah"},
        "second": [{"chemistry": "lfp", "capacity": f"{101 + n} Ah"} for n in range(many["second"])],
        "link": [link] * many["link"],
        "run": [piece | {"length": f"{n + 1}.5 m"} for n in range(many["run"])],
        "load": [
            {"name": f"Load {n}", "current": f"{n + 1}.5 A", "battery": "starter" if n % 3 == 2 else "second"}
            for n in range(many["load"])
        ],
        "sun": [{"power": f"{100 + n} W"} for n in range(many["sun"])],
        "mains": {"fitted": "yes", "rating": "17 A", "profile": "gel"},
    }
    return take_in(made)


def crowded() -> SetUp:
    """As much of everything as there can be, with long names and nothing known of every other thing."""
    full = whole("relay", run=6, second=3, load=12, sun=4, link=1)
    for n in range(12):
        full = full.changed(("load", n, "name"), LONG[: 39 - n] if n % 2 else "W" * 40)
    for n in range(0, 6, 2):
        full = full.changed(("run", n, "size"), "2.5 mm").changed(("run", n, "zone"), UNKNOWN)
        full = full.changed(("run", n, "fuse"), "")
    return full.changed(("link", 0, "rating"), "")


def everywhere(entry: str, name: str = "") -> SetUp:
    """As many of each part as there can be, with the same entry in every field."""
    typed = {p.key: {f.name: entry for f in p.fields} for p in PARTS}
    return take_in({"name": name, **{p.key: typed[p.key] if p.many == 1 else [typed[p.key]] * p.many for p in PARTS}})


SET_UPS = {
    **{name: demos.demo(name) for name in demos.NAMES},
    "empty": SetUp("", {}),
    "only a load": take_in({"load": [{"name": "Fridge"}]}),
    "empty parts": take_in({"second": [{}], "link": [{}], "run": [{}], "load": [{}], "sun": [{}], "mains": {}}),
    "crowded": crowded(),
    "unknown": everywhere(UNKNOWN),
    "back unknown": whole().changed(("vehicle", 0, "earth_path"), UNKNOWN),
    **{f"{kind}, {back}": whole(kind, back) for kind in KINDS for back in ("body", "cable")},
    **{f"two links, {back}": whole("relay", back, link=2) for back in ("body", "cable")},
    "three links": whole("charger", "cable", link=3),
}
every_set_up = pytest.mark.parametrize("set_up", SET_UPS.values(), ids=SET_UPS)


def parsed(set_up: SetUp) -> ElementTree.Element:
    return ElementTree.fromstring(drawing(set_up))


def groups(root: ElementTree.Element, part: str) -> list[ElementTree.Element]:
    return [g for g in root.iter(f"{SVG}g") if g.get("data-part") == part]


def texts(root: ElementTree.Element) -> list[str]:
    return [t.text.replace("\u00a0", " ") for t in root.iter(f"{SVG}text")]


def box(text: ElementTree.Element) -> tuple[float, float, float, float]:
    """Return about where a text lies: left, top, right, bottom [SVG unit]."""
    size, x, y = (float(text.get(name)) for name in ("font-size", "x", "y"))
    width = measure(text.text, size)
    left = x - width * {"start": 0, "middle": 0.5, "end": 1}[text.get("text-anchor", "start")]
    return left, y - 0.75 * size, left + width, y + 0.2 * size


# Safe to put into a page


@every_set_up
def test_no_style_no_script_and_no_colour(set_up):
    root = parsed(set_up)
    for each in root.iter():
        assert each.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "g", "text", "path", "circle", "ellipse", "polygon", "polyline",
        }  # fmt: skip
        assert not {name for name in each.attrib if name == "style" or name.startswith("on") or "href" in name}
        assert each.get("stroke", "none") in ("none", "currentColor")
        assert each.get("fill", "none") in ("none", "currentColor")
    assert "<style" not in drawing(set_up)


@every_set_up
def test_it_is_an_image_with_a_name_and_a_description(set_up):
    root = parsed(set_up)
    assert root.get("role") == "img" and root.get("class") == "drawing"
    assert "width" not in root.attrib and "height" not in root.attrib
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert ids == [root.get("aria-labelledby"), root.get("aria-describedby")] and len(set(ids)) == 2
    assert root.find(f"{SVG}title").text.startswith("The set-up")
    assert root.find(f"{SVG}desc").text == description(set_up)


def test_two_drawings_on_a_page_have_ids_of_their_own():
    one, other = (set(re.findall(r' id="([^"]+)"', drawing(SET_UPS["empty"], key))) for key in ("a", "b"))
    assert len(one) == 2 and not one & other


@pytest.mark.parametrize("evil", EVIL)
def test_what_was_typed_is_only_text(evil):
    hostile = take_in({"name": evil[:40], "load": [{"name": evil, "current": "1 A"}]})
    shown = drawing(hostile)
    assert "<script" not in shown and "<img" not in shown
    root = ElementTree.fromstring(shown)
    assert " ".join(t.text for g in groups(root, "load") for t in g.iter(f"{SVG}text")) == (
        f"1\u00a0A {' '.join(wrapped(evil, module.room_beside('1 A'), TEXT))}"
    )
    assert root.find(f"{SVG}title").text == f"The set-up {evil[:40]}"
    assert f"{evil} 1 A" in description(hostile)


@settings(deadline=None)
@given(st.text(max_size=40).filter(str.isprintable), st.text(max_size=60).filter(str.isprintable))
def test_any_entry_can_be_drawn(name, entry):
    ElementTree.fromstring(drawing(everywhere(entry, name)))


# Readable on a phone


@every_set_up
def test_words_keep_within_the_drawing_and_apart(set_up):
    root = parsed(set_up)
    left, top, width, height = map(float, root.get("viewBox").split())
    assert (left, top, width) == (0, 0, WIDTH)
    boxes = [(t.text, box(t)) for t in root.iter(f"{SVG}text")]
    for text, (x0, y0, x1, y1) in boxes:
        assert x0 >= 0 and y0 >= 0 and x1 <= WIDTH and y1 <= height, text
    for (one, a), (other, b) in combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], f"{one} and {other}"


@every_set_up
def test_lines_keep_within_the_drawing(set_up):
    root = parsed(set_up)
    height = float(root.get("viewBox").split()[3])
    for shape in root.iter():
        if shape.tag == f"{SVG}circle":
            x, y, r = (float(shape.get(name)) for name in ("cx", "cy", "r"))
            places = [(x - r, y - r), (x + r, y + r)]
        else:
            numbers = re.findall(r"-?[\d.]+", shape.get("points") or (shape.get("d") or "").partition(" Z")[0])
            if " a " in (shape.get("d") or "") or " A " in (shape.get("d") or ""):
                continue
            places = list(zip(map(float, numbers[::2]), map(float, numbers[1::2]), strict=True))
        assert all(0 <= x <= WIDTH and 0 <= y <= height for x, y in places)


@every_set_up
def test_letters_are_large_enough(set_up):
    assert min(float(t.get("font-size")) for t in parsed(set_up).iter(f"{SVG}text")) >= 12


def test_a_long_name_takes_two_lines_and_is_cut_there():
    root = parsed(take_in({"load": [{"name": LONG, "current": "3 A"}, {"name": "W" * 40, "current": "4 A"}]}))
    two, cut = ([t.text for t in g.iter(f"{SVG}text")][1:] for g in groups(root, "load"))
    assert len(two) == 2 and " ".join(two) == LONG
    assert len(cut) == 1 and cut[0].endswith("W…")


@given(st.text(max_size=60), st.floats(30, 300))
def test_a_fitted_text_fits(text, room):
    assert measure(fit(text, room, TEXT), TEXT) <= room


# Everything is there


@pytest.mark.parametrize("count", range(1, 13))
def test_as_many_of_each_as_there_are(count):
    many = {part: min(count, MODEL.part(part).many) for part in ("run", "second", "load", "sun")}
    root = parsed(whole(**many))
    for part, n in many.items():
        assert len(groups(root, part)) == n
    assert len(groups(root, "fuse")) == many["run"]
    for part in ("alternator", "starter", "link", "mains", "back", "plus"):
        assert len(groups(root, part)) == 1


@pytest.mark.parametrize("count", (1, 2, 3))
def test_as_many_links_as_there_are(count):
    assert len(groups(parsed(whole("relay", link=count)), "link")) == count


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_link_has_its_words_and_its_symbol(kind):
    root = parsed(whole(kind))
    assert LINK[kind] in texts(root)
    others = [whole(other) for other in KINDS if other != kind]
    symbol = [s.get("d") for s in groups(root, "link")[0].iter(f"{SVG}path")]
    for other in others:
        assert symbol != [s.get("d") for s in groups(parsed(other), "link")[0].iter(f"{SVG}path")]


def test_words_for_every_choice_there_is():
    assert set(module.CHEMISTRY) == {key for key, _ in MODEL.part("second").field("chemistry").options}
    assert set(module.ALTERNATOR) == {key for key, _ in MODEL.part("alternator").field("kind").options}
    assert set(module.ZONE) == {key for key, _ in MODEL.part("run").field("zone").options}
    assert set(LINK) == {key for key, _ in MODEL.part("link").field("kind").options}
    assert set(module.BACK) == {key for key, _ in MODEL.part("vehicle").field("earth_path").options}


def test_fuse_of_nought_is_not_drawn_and_an_unknown_one_bears_a_question_mark():
    one = whole(run=1)
    assert groups(parsed(one.changed(("run", 0, "fuse"), "0 A")), "fuse") == []
    shown = parsed(one.changed(("run", 0, "fuse"), ""))
    assert "Fuse?" in texts(shown) and groups(shown, "fuse")[0].get("class") == "assumed"


def test_the_way_back_is_by_the_body_or_by_a_drawn_cable():
    body, cable = (groups(parsed(whole(back=back)), "back")[0] for back in ("body", "cable"))
    assert [t.text for t in body.iter(f"{SVG}text")] == ["body", "body"]
    assert any(s.get("stroke-width") == str(module.THICK) for s in cable)
    assert not any(s.get("stroke-width") == str(module.THICK) for s in body)


def test_the_link_is_drawn_before_the_last_piece():
    parts = [g.get("data-part") for g in parsed(whole(run=3)).iter(f"{SVG}g")]
    way = [p for p in parts if p in ("run", "link", "second")]
    assert way == ["run", "run", "link", "run", "second"]
    assert module.LINK_NOTE in description(whole(run=3)) and module.LINK_NOTE not in description(whole(run=1))


def test_loads_stand_at_the_battery_they_run_from():
    parts = [g.get("data-part") for g in parsed(whole(load=3)).iter(f"{SVG}g")]
    assert parts.index("load") < parts.index("link") and parts.count("load") == 3


def test_an_empty_set_up_says_what_is_to_come():
    root = parsed(SET_UPS["empty"])
    faint = [g.get("data-part") for g in root.iter(f"{SVG}g") if g.get("class") == "faint"]
    assert faint == ["alternator", "starter", "run", "link", "second", "load"]
    assert description(SET_UPS["empty"]).startswith(
        "Not entered yet: alternator, starter battery, cable, link, second battery and loads."
    )


def test_it_grows_as_parts_are_entered():
    growing = SetUp("", {})
    faint = drawing(growing).count('class="faint"')
    for part, name, text in (
        ("second", "capacity", "95 Ah"),
        ("link", "kind", "charger"),
        ("alternator", "kind", "smart"),
        ("run", "length", "3 m"),
        ("load", "current", "4 A"),
        ("starter", "capacity", "70 Ah"),
    ):
        growing = growing.changed((part, 0, name), text)
        assert drawing(growing).count('class="faint"') == faint - 1
        faint -= 1
    assert faint == 0


# What is assumed


@every_set_up
def test_what_is_assumed_is_dashed_and_said(set_up):
    root = parsed(set_up)
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "assumed":
            assert any("," in (shape.get("stroke-dasharray") or "") for shape in group)
    marked = any(g.get("class") == "assumed" for g in root.iter(f"{SVG}g"))
    if marked:
        assert module.ASSUMED_NOTE in description(set_up)


def test_nothing_is_marked_where_everything_is_given():
    for kind in KINDS:
        shown = drawing(whole(kind))
        assert 'class="assumed"' not in shown and module.ASSUMED_NOTE not in description(whole(kind))
        assert "?" not in description(whole(kind))


SHOWN = {
    "alternator": ("kind", "rated_output"),
    "starter": ("capacity", "chemistry"),
    "second": ("capacity", "chemistry"),
    "run": ("length", "size", "zone"),
    "load": ("name", "current"),
    "sun": ("power",),
    "mains": ("rating",),
}


@pytest.mark.parametrize("part, name", [(p, n) for p, names in SHOWN.items() for n in names])
def test_an_unknown_value_bears_a_question_mark(part, name):
    lacking = whole(run=1).changed((part, 0, name), UNKNOWN)
    group = groups(parsed(lacking), part)[0]
    assert group.get("class") == "assumed"
    assert any("?" in t.text for t in group.iter(f"{SVG}text"))
    assert "?" in description(lacking).removesuffix(module.ASSUMED_NOTE)


@pytest.mark.parametrize("name", ("rating", "connects_at", "disconnects_at"))
def test_an_unknown_value_of_a_relay_bears_a_question_mark(name):
    group = groups(parsed(whole("relay").changed(("link", 0, name), UNKNOWN)), "link")[0]
    assert group.get("class") == "assumed" and any("?" in t.text for t in group.iter(f"{SVG}text"))


# In words


@pytest.mark.parametrize("kind", KINDS)
def test_description_says_every_part_that_is_drawn(kind):
    given = whole(kind, run=6, second=3, load=12, sun=4)
    said = description(given)
    assert "\n" not in said and "\u00a0" not in said
    for part, names in {**SHOWN, "run": ("length", "size", "fuse")}.items():
        for n in range(given.count(part)):
            for name in names:
                if isinstance(given.model.part(part).field(name), (Number, Size)):
                    assert given.known(part, n, name).entry.text.replace("\u00a0", " ") in said
                elif not isinstance(given.model.part(part).field(name), Choice):
                    assert given.typed(part, n, name) in said
    for item in plan(given).items:
        assert item.said.replace("\u00a0", " ") in said


def test_description_of_a_demo_reads_along_the_cable():
    assert description(SET_UPS["island_van"]).startswith(
        "From the alternator (smart, 140 A) and the starter battery (70 Ah AGM) through a 50 A fuse, 2.2 m of 10 mm² "
        "in the engine bay, a fuse (not known) and 4 m of 10 mm² under the body, then a DC-DC charger of 25 A, set for "
        "AGM, then a 40 A fuse and 0.8 m of 10 mm² inside the vehicle, to the second battery (95 Ah AGM), and back by "
        "the body. The second battery feeds: Fridge 3.8 A, Heater fan 1.6 A, Lights 1.2 A, Phones 2 A. The starter "
        "battery feeds: Tracker 0.03 A."
    )


# The same everywhere


@every_set_up
def test_drawn_twice_it_is_the_same(set_up):
    assert drawing(set_up) == drawing(set_up)


def test_numbers_are_short_so_that_no_machine_rounds_them_otherwise():
    shapes = " ".join(s.get("d") or s.get("points") or "" for s in parsed(SET_UPS["crowded"]).iter())
    assert not re.search(r"\.\d{3}|e-", shapes)


def test_no_other_way_of_drawing_is_needed():
    program = (
        "import sys; sys.modules.update(dict.fromkeys(('matplotlib', 'numpy', 'ziamath', 'jinja2')));"
        "from calc.setup import demos; from site_src.drawing import drawing;"
        "print(drawing(demos.demo(demos.NAMES[0]))[:4])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "<svg"
