"""A club's edition: what its settings may say and what they may not, and where what it set is to be seen."""

import json
import re
import shutil
from pathlib import Path

import pytest

import calc
from calc import edition as answering
from site_src import builder, colours, edition, edition_file, guides, icons, runtime, settings
from site_src.trouble import Trouble

EXAMPLE = Path(edition_file.__file__).parent / "editions/example/edition.toml"
CLUB = "Dry Creek Tourers (invented)"
HEAD = "title: Ours\nsummary: Of ours.\ntask: camp\norder: 1\nchecks: cable-drop\n\n"


@pytest.fixture(scope="module")
def example():
    return edition_file.read(EXAMPLE)


@pytest.fixture(scope="module")
def pages(example):
    """The pages on which a club shows; the rest are made by the same functions."""
    with edition.building(example):
        every = guides.all_guides()
        made = {
            "home": builder.home(every),
            "guides": builder.guide_list(every),
            "about": builder.about_page(),
            "sources": builder.sources_page(),
            "set-ups": builder.set_ups_page(),
            "drop": builder.check_page(calc.checks()["cable-drop"], every),
            **{guide.name: builder.guide_page(guide) for guide in example.guides},
            **builder.welcome_page(),
            **builder.set_up_files(),
            **builder.static(),
        }
    return {path: data.decode("utf-8", "replace") for path, data in made.items()}


@pytest.fixture
def club(tmp_path):
    """Write settings with files beside them, and read them as an edition."""

    def read(text, **files):
        for name, content in files.items():
            path = tmp_path / name.replace("__", "/").replace("_dot_", ".")
            path.parent.mkdir(exist_ok=True)
            path.write_text(content, "utf-8")
        (tmp_path / "edition.toml").write_text(text, "utf-8")
        return edition_file.read(tmp_path / "edition.toml")

    return read


def refusal(read, *arguments, **files):
    with pytest.raises(Trouble) as problem:
        read(*arguments, **files)
    return str(problem.value)


# What a club's edition shows


def test_the_plain_book_says_nothing_of_a_club():
    text = builder.home(guides.all_guides()) + builder.about_page() + builder.sources_page() + builder.set_ups_page()
    assert not re.search(r"[Cc]lub|this-edition|Local codes", text.decode())
    assert edition.current().settings is settings


def test_the_name_is_the_club_s_on_pages_and_icons(pages, example):
    assert "<title>Dry Creek Field Book</title>" in pages["home"]
    manifest = json.loads(pages["manifest.webmanifest"])
    assert (manifest["name"], manifest["short_name"]) == ("Dry Creek Field Book", "Dry Creek")
    assert (manifest["background_color"], manifest["theme_color"]) == ("#f6f1e4", "#140f0a")
    assert 'fill="#ffb48a"' in pages["icons/icon.svg"] and pages["icons/icon.svg"] != icons.svg().decode()


def test_every_page_says_whose_edition_it_is(pages):
    for name in ("home", "guides", "about", "sources", "set-ups", "drop", "salt-flats", "welcome/index.html"):
        assert f"An edition of {CLUB}" in pages[name], name


def test_the_welcome_page_is_linked_before_all_else(pages):
    main = pages["home"].partition("<main")[2]
    assert re.search(r'href="([^"]*)"', main)[1] == "./welcome/"
    assert "is invented" in pages["welcome/index.html"]


def test_guides_are_listed_under_the_club_and_worked_out(pages):
    listed = pages["guides"].partition('id="club"')[2].partition("</section>")[0]
    assert re.findall(r'guides/([a-z-]+)/">', listed) == ["salt-flats", "convoy-radio"]
    assert f"Written by {CLUB}, which answers for it." in pages["salt-flats"]
    assert "0.63\u00a0V" in pages["salt-flats"] and f"20 l (says {CLUB})" in pages["salt-flats"]
    assert "Read more" in pages["drop"] and "guides/salt-flats/" in pages["drop"]


def test_set_ups_are_offered_as_the_club_s(pages):
    listed = pages["set-ups"].partition('id="club-heading"')[2].partition("</section>")[0]
    assert 'data-demo="salt_lake_tray"' in listed
    assert json.loads(pages["set-ups/salt_lake_tray.json"])["name"] == "Salt-lake tray (invented)"


def test_cautions_and_codes_stand_beside_ours(pages):
    cautions = pages["drop"].partition("Before you touch anything")[2].partition("</ul>")[0]
    ours = calc.run("cable-drop", calc.checks()["cable-drop"].example).cautions
    assert all(str(builder.Markup.escape(text)) in cautions for text in ours)
    assert f"{CLUB} adds: Salt flats" in cautions and "NFPA 1192" in cautions
    assert "trip rules (invented)" in pages["sources"] and "(named by the club)" in pages["sources"]
    assert "NFPA 1192" in pages["convoy-radio"]


def test_every_change_is_listed(pages, example):
    listed = pages["about"].partition('id="this-edition"')[2].partition("</dl>")[0]
    for heading in (
        *("Name", "Colours", "Icon", "Welcome page", "Guides added", "Set-ups added", "Cautions added"),
        *("Local codes named", "Region"),
    ):
        assert f"<dt>{heading}</dt>" in listed
    assert "The club, not the book's makers, answers for what it added: its welcome page, its guides" in listed


def test_a_club_that_changes_nothing_says_so(club):
    with edition.building(club('club = "Dry Creek"')):
        text = builder.about_page().decode()
    assert "nothing but who gives it out" in text and edition.current() is edition.PLAIN


def test_the_region_comes_first_on_a_check_s_page(pages):
    groups = re.findall(r'<optgroup label="([^"]*)"', pages["drop"])
    assert groups[0].startswith("AWG") and "4\u00a0AWG" in pages["drop"]
    units = re.findall(r'<option value="(\w*)" data-unit="(\w+)">', pages["drop"])
    assert units[:2] == [("ft", "ft"), ("", "m")], "a bare number in a link keeps its own unit"
    assert "Resistance of 4\u00a0AWG at 68\u00a0°F" in pages["drop"] and not re.search(r"\d\s°C", pages["drop"])


def test_what_a_club_typed_is_text(club):
    evil = "<b onclick=x>&\\\"'</b>"
    made = club(
        f'club = "{evil}"\nname = "{evil}"\nshort_name = "<i>"\ncontact = "{evil}"\n'
        f'[[cautions]]\ntext = "{evil}"\n[[codes]]\ntitle = "{evil}"\ncovers = "{evil}"\n'
        f'[[set_ups]]\nfile = "one.json"\nabout = "{evil}"\n',
        one_dot_json=json.dumps({"format": "second-battery-set-up", "version": 1, "name": "<b onclick=x>"}),
    )
    with edition.building(made):
        texts = [builder.about_page(), builder.home([]), builder.set_ups_page(), builder.sources_page()]
        texts += [builder.check_page(calc.checks()["cable-drop"], []), builder.lost_page()]
        manifest = json.loads(builder.static()["manifest.webmanifest"])
    assert not [text for text in texts if b"<b onclick" in text]
    assert all(b"&lt;b onclick=x&gt;" in text for text in texts)
    assert manifest["name"] == evil.replace('\\"', '"')


def test_markup_in_a_guide_is_text(club):
    made = club('club = "<b>A</b>"\nguides = "g"', g__one_dot_md=HEAD + '<script>x</script> {{ own("<b>_1_</b>") }}')
    with edition.building(made):
        body = guides.body(made.guides[0], "../../")
    assert "<script" not in body and "<b>" not in body and "<em>" not in body
    assert "&lt;b&gt;_1_&lt;/b&gt; (says &lt;b&gt;A&lt;/b&gt;)" in body


def test_what_only_the_engine_holds_makes_another_edition_too(monkeypatch):
    monkeypatch.setattr(runtime, "engine_files", lambda *_: {"book.zip": runtime.stored_zip({"calc/x.py": b""})})
    monkeypatch.setattr(runtime, "licences", lambda _: "")

    def built(one):
        with edition.building(one):
            book = builder.engine(lambda _: None)["book.zip"]
        files = {"index.html": b"@@edition@@", "sw.js": b"const PACKS = [];\n", "book.zip": book}
        return runtime.unzipped(book), builder.named_by_content(files)["index.html"]

    cautioned = [
        edition.Edition("A", answers=answering.Edition("A", cautions=(answering.ClubCaution(text),)))
        for text in ("one", "two")
    ]
    (plain, first), (one, second), (two, third) = map(built, (edition.PLAIN, *cautioned))
    assert set(one) - set(plain) == {"calc/edition.json"}
    assert answering.from_text(two["calc/edition.json"].decode()).cautions_of("trip") == ["A adds: two"]
    assert len({first, second, third}) == 3


# What is refused, and in which words


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", 'club must be given: club = "Dry Creek Tourers"'),
        ("club = 3", "club must be one line of text of up to 60 characters"),
        ('club = "a\\nb"', "club must be one line of text"),
        ('club = "A"\ncolor = "red"', "There is no setting “color”; there are club, name, short_name"),
        ('club = "A"\nname = "B"', "A name needs a short_name beside it"),
        ('club = "A"\nshort_name = "longer than that"', "short_name must be one line of text of up to 14 characters"),
        ('club = "A"\nregion = "moon"', "There is no region “moon”; there are metric, europe"),
        ('club = "A"\n[colours.noon]\nground = "#ffffff"', "no setting “noon” in [colours]; there are day, night"),
        ('club = "A"\n[colours.day]\nink = "#000000"', "no setting “ink” in [colours.day]; there are ground, accent"),
        ('club = "A"\n[colours.day]\nground = "white"', "ground is “white”; it must be # and six digits"),
        ('club = "A"\n[icon]\nletters = "Ü"', "[icon] letters are “Ü”; one or two of A to Z and 0 to 9"),
        ('club = "A"\nwelcome = "w.md"', "welcome names “w.md”, and there is no such thing in"),
        ('club = "A"\nwelcome = "../edition.toml"', "welcome names “../edition.toml”, and there is no such thing in"),
        ('club = "A"\n[[cautions]]\nchecks = []', "[[cautions]] 1 text must be given"),
        ('club = "A"\n[[cautions]]\ntext = "x"\nchecks = ["tea"]', "[[cautions]] 1 checks must be a list of checks"),
        ('club = "A"\n[[cautions]]\ntext = "x"\nchecks = [["trip"]]', "[[cautions]] 1 checks must be a list of checks"),
        ('club = "A"\ncautions = "x"', "cautions must be a list of tables, each begun with [[cautions]]"),
        ('club = "A"\n[[codes]]\ntitle = "x"', "[[codes]] 1 covers must be given"),
        ('club = "A"\n[[set_ups]]\nfile = "none.json"', "[[set_ups]] 1 names “none.json”, and there is no such thing"),
        ('club = "A"\ncolours = 3', "[colours] must be a table"),
        ("club = ", "is not TOML"),
    ],
)  # fmt: skip
def test_a_setting_that_cannot_be_used_is_named(club, text, said):
    assert said in refusal(club, text)


def test_all_that_is_wrong_is_said_at_once(club):
    said = refusal(club, 'short_name = "x"\nregion = "moon"\nsize = 1')
    assert said.count("\n- ") == 3


def test_settings_that_are_not_there_are_named(tmp_path):
    said = refusal(edition_file.read, tmp_path / "no.toml")
    assert "There is no settings file" in said and "--edition" in said and edition_file.EXAMPLE in said


SET_UP = {"format": "second-battery-set-up", "version": 1}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "one.json: This file is damaged"),
        (json.dumps(SET_UP | {"version": 9}), "one.json: This set-up was made with a newer edition"),
        (json.dumps(SET_UP | {"alternator": {"set_point": "5 kg"}}), "one.json: Alternator"),
    ],
)
def test_a_damaged_set_up_stops_the_build_with_its_sentence(club, text, said):
    assert said in refusal(club, 'club = "A"\n[[set_ups]]\nfile = "one.json"', one_dot_json=text)


def test_a_set_up_needs_a_name_of_its_own(club):
    text = json.dumps(SET_UP)
    said = refusal(club, 'club = "A"\n[[set_ups]]\nfile = "island_van.json"', island_van_dot_json=text)
    assert "it must have a name of its own" in said


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("one", "no head", "must begin with a head of five lines"),
        ("one", HEAD.replace("camp", "moon") + "x", "has the task “moon”; there are camp, vehicle, home"),
        ("one", HEAD.replace("cable-drop", "tea") + "x", "names the check “tea”; there are"),
        ("One", HEAD + "x", "must be called by small letters, digits and -"),
        ("fuses", HEAD + "x", "has the name of one of the book's own guides"),
        ("one", HEAD + "Drive 40 km.", "holds “40 km” as typed. Let the book work it out"),
        ("one", HEAD + "It is 30 % gone", "holds “30 %” as typed"),
        ("one", HEAD + "![x](x.png)", "shows an image"),
    ],
)
def test_a_guide_that_breaks_the_rules_is_refused(club, name, text, said):
    assert said in refusal(club, 'club = "A"\nguides = "g"', **{f"g__{name}_dot_md": text})


@pytest.mark.parametrize(
    "expression",
    [
        'value("cable-drop", "tea", current="25 A", length="6 m")',
        'value("cable-drop", "drop", current="5 kg")',
        "nothing",
        "1 / 0",
        "value.__globals__",
        "''.__class__.__mro__",
        'picture("moon")',
    ],
)
def test_an_expression_that_cannot_be_worked_out_stops_the_build(club, expression):
    made = club('club = "A"\nguides = "g"', g__one_dot_md=f"{HEAD}{{{{ {expression} }}}}")
    with edition.building(made):
        said = refusal(guides.body, made.guides[0], "../../")
    assert "one.md holds an expression that cannot be worked out" in said


@pytest.mark.parametrize("address", ["../nowhere/", "http://example.org/", "/guides/"])
def test_a_link_that_leads_nowhere_is_refused(club, address):
    made = club('club = "A"\nguides = "g"', g__one_dot_md=f"{HEAD}[there]({address})")
    with edition.building(made):
        said = refusal(builder.refuse_dead_links, {"guides/one/index.html": builder.guide_page(made.guides[0])})
    assert f"one.md leads to “{address}”, which is not in the book" in said


def test_links_into_the_book_and_to_a_club_s_own_site_are_taken(club):
    text = HEAD + '[a](https://example.org/) [b](mailto:a@example.org) {{ page("set-ups", "c") }} [d](../one/) [e](#f)'
    made = club('club = "A"\nguides = "g"', g__one_dot_md=text)
    with edition.building(made):
        pages = {"guides/one/index.html": builder.guide_page(made.guides[0]), "set-ups/index.html": b""}
        builder.refuse_dead_links(pages)


# Colours


def ratio(one, other):
    """Return the contrast by the formula in WCAG 2.2, written out again."""

    def luminance(colour):
        r, g, b = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (r, g, b))
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    first, second = luminance(one), luminance(other)
    return (max(first, second) + 0.05) / (min(first, second) + 0.05)


def test_contrast_is_wcag_s():
    """#767676 is the lightest grey that is 4.5:1 on white, #595959 the lightest that is 7:1 (widely published)."""
    assert colours.contrast("#767676", "#ffffff") >= 4.5 > colours.contrast("#777777", "#ffffff")
    assert colours.contrast("#595959", "#ffffff") >= 7 > colours.contrast("#5a5a5a", "#ffffff")
    for one, other in (("#0a4a5c", "#fbf7ee"), ("#ff0000", "#0000ff"), ("#010101", "#fefefe")):
        assert colours.contrast(one, other) == pytest.approx(ratio(one, other))


@pytest.mark.parametrize("time", colours.TIMES)
def test_every_pair_of_the_plain_book_and_of_the_example_is_far_enough_apart(example, time):
    for made in (colours.plain(time), example.palette(time)):
        assert min(colours.pairs(made).values()) >= 7
        assert all(ratio(made[ink], made[ground]) >= 7 for ink in colours.INKS for ground in colours.GROUNDS)


@pytest.mark.parametrize(
    ("time", "part", "colour"),
    [
        ("day", "ground", "#8899aa"),
        ("day", "accent", "#2277cc"),
        ("night", "ground", "#554433"),
        ("night", "accent", "#995544"),
    ],
)
def test_a_pair_that_is_too_near_is_refused_with_its_ratio_and_the_nearest_that_will_do(club, time, part, colour):
    said = refusal(club, f'club = "A"\n[colours.{time}]\n{part} = "{colour}"')
    ink, ground, shown = re.search(r"(#\w{6}) on (#\w{6}) \([\w-]+ on \w+\) is ([\d.]+):1", said).groups()
    assert float(shown) == pytest.approx(ratio(ink, ground), abs=0.01) and float(shown) < 7
    better = re.search(rf'will do: {part} = "(#\w{{6}})"', said)[1]
    assert club(f'club = "A"\n[colours.{time}]\n{part} = "{better}"').colours[time] == {part: better}


def test_an_accent_is_judged_on_the_club_s_own_ground(club):
    text = 'club = "A"\n[colours.day]\nground = "#ffffff"\naccent = "{}"'
    assert club(text.format("#004466")).colours["day"]["accent"] == "#004466"
    assert "cannot be read" in refusal(club, text.format("#3377aa"))


def test_the_style_sheet_takes_a_club_s_colours_on_screen_and_keeps_its_print(pages, example):
    text = next(data for path, data in pages.items() if path.endswith("style.css"))
    plain = next(data for path, data in builder.static().items() if path.endswith("style.css")).decode()
    for time, block in zip(colours.TIMES, re.findall(r":root \{(.*?)\}", text, re.DOTALL), strict=False):
        declared = dict(re.findall(r"--([\w-]+): (#\w+);", block))
        assert declared == example.palette(time)
    assert text.partition("@media print")[2] == plain.partition("@media print")[2]


def test_letters_keep_inside_what_a_mask_leaves():
    for letters in ("W", "DC", "88"):
        ground, *drawn = icons.rectangles(letters=letters)
        for x, y, w, h, _ in drawn:
            corners = ((x + dx - 32) ** 2 + (y + dy - 32) ** 2 for dx in (0, w) for dy in (0, h))
            assert max(corners) ** 0.5 <= 0.4 * icons.SQUARE
    assert len({icons.svg(icons.rectangles(letters=letter)) for letter in icons.LETTERS}) == len(icons.LETTERS) == 36


def test_the_command_takes_an_edition_and_says_plainly_what_is_wrong(tmp_path, capsys):
    import build

    copy = tmp_path / "edition.toml"
    shutil.copy(EXAMPLE, copy)
    options = build.read_command(["build", "--edition", str(copy), "--out", str(tmp_path / "dist")])
    with pytest.raises(Trouble, match="welcome names “welcome.md”, and there is no such thing"):
        options.function(options)
    assert not (tmp_path / "dist").exists()
