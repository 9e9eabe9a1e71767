"""The form: the address keeps it, links reproduce it, errors wait their turn, and nothing typed becomes markup."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Page, expect

import calc
from calc.fields import Choice
from tests.browser.conftest import CHECKS, command_line, expect_answer, fill, link_of, values, wait_for

CHECK = "cable-drop"
TYPED = {"current": "25 A", "length": "6", "size": "16 mm2"}
BANNED = ("please", "sorry", "invalid", "forbidden", "illegal", "oops", "error occurred")


@pytest.fixture(scope="module")
def running(saved) -> Iterator[Page]:
    """The cable check's page with its engine running: shared, as starting one takes a second or two."""
    page = saved[0].new_page()
    page.goto(f"{saved[1].url}checks/{CHECK}/")
    wait_for(page, engine="ready")
    yield page
    page.close()


@pytest.fixture
def form(running, url) -> Page:
    """The cable check's page, its form blank."""
    if running.url.partition("#")[0] != f"{url}checks/{CHECK}/":
        running.goto(f"{url}checks/{CHECK}/")
    running.evaluate("document.activeElement.blur()")
    running.evaluate("document.getElementById('check').reset()")
    expect(running.locator("#heading-example")).to_be_visible()
    expect(running).to_have_url(f"{url}checks/{CHECK}/")
    running.evaluate("scrollTo(0, 0)")
    return running


def error_of(page: Page, name: str) -> str:
    """Return the sentence shown beside a field."""
    note = page.locator(f"#{name}-error")
    return note.inner_text() if note.is_visible() else ""


def settled(page: Page, inputs: dict[str, str]) -> None:
    """Wait for the answer to a filled form."""
    expect_answer(page, CHECK, inputs)


# Links and the address


@pytest.mark.parametrize("check", CHECKS)
def test_a_link_reproduces_its_answer_on_another_phone(new_context, host, page, url, check):
    inputs = calc.checks()[check].example
    page.goto(f"{url}checks/{check}/")
    fill(page, check, inputs)
    expect_answer(page, check, inputs)
    link = page.url.replace(url, host.url)
    shown = page.inner_text("#answer")
    other = new_context(service_workers="block").new_page()  # it need not save the book
    other.goto(link)
    expect_answer(other, check, inputs)
    assert other.inner_text("#answer") == shown
    assert other.url == link


def test_the_address_follows_the_form_and_reload_keeps_it(form, url):
    fill(form, CHECK, TYPED)
    settled(form, TYPED)
    assert form.url == f"{url}{link_of(CHECK, TYPED)}"
    form.reload()
    settled(form, TYPED)
    assert {name: form.input_value(f"#{name}") for name in TYPED} == TYPED
    form.select_option("#return_path", "body")
    settled(form, TYPED | {"return_path": "body"})
    assert form.url == f"{url}{link_of(CHECK, TYPED | {'return_path': 'body'})}".replace(
        "size=16+mm2&return_path=body", "return_path=body&size=16+mm2"
    )


def test_the_address_alone_changes_the_form(form, url):
    """A link of the same check, opened while its page is on show."""
    form.evaluate(f"location.hash = '{urlencode(TYPED)}'")
    settled(form, TYPED)
    form.evaluate(f"location.hash = '{urlencode({**TYPED, 'length': '20 ft'})}'")
    settled(form, TYPED | {"length": "20 ft"})


def test_a_jump_within_the_page_costs_nothing_typed(form):
    fill(form, CHECK, TYPED)
    settled(form, TYPED)
    before = form.url
    form.evaluate("location.hash = '#main'")
    expect(form).to_have_url(before)
    form.click("#strip a")
    assert form.url == before
    assert values(form)


@pytest.mark.parametrize(
    ("link", "shown"),
    [({"chemistry": "lifepo4"}, "lfp"), ({"chemistry": "AGM, sealed lead-acid"}, "agm"), ({"chemistry": "LFP"}, "lfp")],
)
def test_a_choice_in_another_spelling_is_shown_as_it_is_understood(page, url, link, shown):
    """What the command line takes, a link takes; the form then has to show the same choice."""
    inputs = {**calc.checks()["fuse-choice"].example, **link}
    page.goto(url + link_of("fuse-choice", inputs))
    expect_answer(page, "fuse-choice", inputs)
    expect(page.locator("#chemistry")).to_have_value(shown)
    assert error_of(page, "chemistry") == ""


# Entries


def test_the_unit_beside_the_field_equals_the_unit_typed(form):
    fill(form, CHECK, {"current": "25", "length": "20"})
    form.select_option('[data-unit-of="length"]', "ft")
    expect_answer(form, CHECK, {"current": "25", "length": "20 ft"})
    by_list = values(form)
    form.click("button[type=reset]")
    expect(form.locator("#heading-example")).to_be_visible()
    fill(form, CHECK, {"current": "25", "length": "20 ft"})
    expect_answer(form, CHECK, {"current": "25", "length": "20 ft"})
    assert values(form) == by_list


def test_the_unit_beside_the_field_holds_while_a_decimal_is_typed(form):
    fill(form, CHECK, {"current": "25", "length": "20."})
    form.select_option('[data-unit-of="length"]', "ft")
    expect_answer(form, CHECK, {"current": "25", "length": "20 ft"})


def test_the_unit_chosen_is_there_again_after_a_reload(form):
    fill(form, CHECK, {"current": "25", "length": "20"})
    form.select_option('[data-unit-of="length"]', "ft")
    expect_answer(form, CHECK, {"current": "25", "length": "20 ft"})
    form.reload()
    expect_answer(form, CHECK, {"current": "25", "length": "20 ft"})
    assert (form.input_value("#length"), form.input_value('[data-unit-of="length"]')) == ("20", "ft")
    form.select_option('[data-unit-of="length"]', "")
    expect_answer(form, CHECK, {"current": "25", "length": "20"})


def test_a_decimal_comma_is_a_decimal_point(form):
    fill(form, CHECK, {"current": "12,5", "length": "6,25 m"})
    expect_answer(form, CHECK, {"current": "12.5", "length": "6.25 m"})


def test_a_size_picked_from_the_list_is_typed_for_the_reader(form):
    fill(form, CHECK, {"current": "25 A", "length": "6 m"})
    form.select_option('[data-picks="size"]', "16 mm2")
    settled(form, TYPED)
    assert form.input_value("#size") == TYPED["size"]
    assert form.input_value('[data-picks="size"]') == ""


# Errors


def test_an_error_waits_until_the_field_is_left(form):
    fill(form, CHECK, TYPED)
    settled(form, TYPED)
    form.focus("#current")
    form.fill("#current", "5 kg")
    expect(form.locator("#waiting")).to_be_visible()
    assert error_of(form, "current") == ""
    form.focus("#length")
    expect(form.locator("#current-error")).to_be_visible()
    sentence = error_of(form, "current")
    assert sentence == told_error("current", "5 kg")
    assert not any(word in sentence.lower() for word in BANNED)
    assert "current-error" in form.get_attribute("#current", "aria-describedby").split()
    assert form.get_attribute("#current", "aria-invalid") == "true"
    described = form.get_attribute("#current", "aria-describedby").split()
    assert all(form.locator(f"#{one}").count() == 1 for one in described)

    form.focus("#current")
    form.locator("#current").press("End")
    form.keyboard.type("x")
    expect(form.locator("#current-error")).to_be_hidden()
    form.fill("#current", "25 A")
    settled(form, TYPED)
    assert form.get_attribute("#current", "aria-invalid") is None
    assert form.input_value("#length") == TYPED["length"]


def told_error(name: str, text: str) -> str:
    """Return the sentence that the command line says."""
    with pytest.raises(calc.InputError) as caught:
        calc.run(CHECK, {**TYPED, name: text})
    return caught.value.errors[name]


def test_what_is_missing_is_named_and_leads_to_its_field(form):
    form.fill("#current", "25 A")
    expect(form.locator("#missing a")).to_have_text([calc.checks()[CHECK].field("length").label])
    assert error_of(form, "length") == ""
    form.click("#missing a")
    assert form.evaluate("document.activeElement.id") == "length"
    form.focus("#current")
    expect(form.locator("#length-error")).to_be_visible()
    form.fill("#length", "6")
    settled(form, {"current": "25 A", "length": "6"})


def test_clear_brings_the_worked_example_back(form, url):
    example = form.inner_text("#answer"), form.inner_text("#working")
    fill(form, CHECK, {**TYPED, "length": "5 kg"})
    form.focus("#current")
    expect(form.locator("#length-error")).to_be_visible()
    form.click("button[type=reset]")
    expect(form.locator("#heading-example")).to_be_visible()
    expect(form.locator("#strip")).to_be_hidden()
    assert (form.inner_text("#answer"), form.inner_text("#working")) == example
    assert form.url == f"{url}checks/{CHECK}/"
    assert form.locator(".error:visible").count() == 0
    assert form.locator("[aria-invalid]").count() == 0


# Hostile entries

HOSTILE = {
    "markup": {"current": "<script>alert(1)</script>", "size": "<img src=x onerror=alert(1)>"},
    "markup as a choice": {"return_path": "<img src=x onerror=alert(1)>", "engine_bay": '"><svg onload=alert(1)>'},
    "great numbers": {"length": "1e400", "current": "9" * 400},
    "no such field": {"nosuch": "1", "__proto__": "1", "constructor": "x", "current": "25 A"},
    "ten thousand letters": {"current": "x" * 10_000, "length": "1" * 10_000},
    "not numbers": {"current": "NaN", "length": "-Infinity", "ambient": "\u0000\u202e"},
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_link_shows_sentences_and_runs_nothing(page, url, name):
    ran = []
    page.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    page.on("pageerror", lambda error: ran.append(str(error)))
    page.goto(url + link_of(CHECK, HOSTILE[name]))
    wait_for(page, engine="ready")
    expect(page.locator("#waiting")).to_be_visible()
    for field in set(HOSTILE[name]) & {f.name for f in calc.checks()[CHECK].fields}:
        if HOSTILE[name][field] != "25 A":
            expect(page.locator(f"#{field}-error")).to_be_visible()
            assert 20 < len(error_of(page, field)) < 400
    assert ran == []
    assert page.locator("main script, main img, main svg, main iframe").count() == 0
    assert "undefined" not in page.inner_text("main") and "Traceback" not in page.inner_text("main")


@pytest.mark.parametrize("tail", ["current=%", "current=%zz&length=%E0%A4%A", "=", "&&==&=x", "current=%00&length=%FF"])
def test_a_garbled_link_is_read_as_far_as_it_goes(page, url, tail):
    failed = []
    page.on("pageerror", lambda error: failed.append(str(error)))
    page.goto(f"{url}checks/{CHECK}/#{tail}")
    wait_for(page, engine="ready")
    page.fill("#current", "25 A")
    page.fill("#length", "6 m")
    expect_answer(page, CHECK, {"current": "25 A", "length": "6 m"})
    assert failed == []


def test_a_ten_thousand_letter_paste_does_not_freeze_the_page(form):
    fill(form, CHECK, TYPED)
    settled(form, TYPED)
    form.fill("#current", "1 " * 5_000)
    form.focus("#length")
    expect(form.locator("#current-error")).to_be_visible()
    form.fill("#current", "25 A")
    settled(form, TYPED)


# Without a mouse, and before the engine is up


def test_the_keyboard_reaches_everything(page, url):
    form = page
    form.goto(f"{url}checks/{CHECK}/")
    form.keyboard.press("Tab")
    assert form.evaluate("document.activeElement.className") == "skip"
    box = form.locator(".skip").bounding_box()
    assert box["height"] >= 48 and box["width"] >= 48
    form.keyboard.press("Enter")
    form.keyboard.press("Tab")
    assert form.evaluate(
        "document.activeElement === [...document.querySelectorAll('main :is(a, button, input, select)')]"
        ".find((e) => e.checkVisibility())"
    )

    inputs = calc.checks()[CHECK].example
    form.goto(f"{url}?elsewhere")
    form.goto(url + link_of(CHECK, inputs))
    expect_answer(form, CHECK, inputs)  # or it would come while Tab goes through the form, and change what follows
    focusable = form.locator(
        "a:visible, button:visible, input:visible, select:visible, summary:visible, [tabindex='0']:visible"
    ).evaluate_all("all => all.map((e) => e.id || e.textContent.trim() || e.getAttribute('aria-label'))")
    reached = []
    for _ in range(len(focusable) + 2):
        form.keyboard.press("Tab")
        reached.append(
            form.evaluate(
                "(() => { const e = document.activeElement;"
                " return e.id || e.textContent.trim() || e.getAttribute('aria-label'); })()"
            )
        )
    assert reached[1 : len(focusable)] == [one for one in focusable if one != "Skip to the page"]


def test_what_is_typed_by_keyboard_alone_is_answered(form):
    form.focus("#current")
    form.keyboard.type("25 A")
    form.keyboard.press("Tab")
    form.keyboard.type("6 m")
    form.keyboard.press("Enter")
    expect_answer(form, CHECK, {"current": "25 A", "length": "6 m"})
    assert form.evaluate("document.activeElement.id") == "length"


def test_what_is_typed_before_the_engine_is_up_is_answered_when_it_is(new_context, host):
    """On a first visit the whole book is still on its way when the first letter is typed."""
    page = new_context().new_page()
    page.goto(f"{host.url}checks/{CHECK}/", wait_until="commit")
    page.fill("#current", "25 A")
    page.fill("#length", "6 m")
    assert page.get_attribute("html", "data-engine") == "starting"
    expect_answer(page, CHECK, {"current": "25 A", "length": "6 m"})


def test_what_is_entered_before_the_page_has_its_scripts_is_not_lost(new_context, host):
    page = new_context().new_page()
    held = []
    page.route("**/form.js", lambda route: held.append(route))
    with page.expect_request("**/form.js"):
        page.goto(f"{host.url}checks/{CHECK}/", wait_until="commit")
    page.fill("#current", "25 A")
    page.fill("#length", "6 m")
    page.select_option("#return_path", "body")
    held[0].continue_()
    expect_answer(page, CHECK, {"current": "25 A", "length": "6 m", "return_path": "body"})
    assert "return_path=body" in page.url


# The answer's own shape


@pytest.mark.parametrize("check", CHECKS)
def test_the_answer_holds_phrasing_only(page, url, check):
    page.goto(url + link_of(check, calc.checks()[check].example))
    expect_answer(page, check, calc.checks()[check].example)
    assert page.evaluate("document.getElementById('answer').localName") == "output"
    names = page.eval_on_selector_all("#answer *", "all => [...new Set(all.map((e) => e.localName))]")
    assert set(names) <= {"span", "strong", "data", "em", "b", "i", "abbr", "small", "sub", "sup"}
    for key, value in command_line(check, calc.checks()[check].example).items():
        assert page.locator(f'#answer data[data-key="{key}"]').count() == 1
        assert value is None or page.locator(f'#answer data[data-key="{key}"]').get_attribute("value")


@pytest.mark.parametrize("check", CHECKS)
def test_the_form_asks_for_every_field_by_its_name(page, url, check):
    page.goto(f"{url}checks/{check}/")
    for field in calc.checks()[check].fields:
        control = page.locator(f'form#check [name="{field.name}"]')
        assert control.count() == 1
        kind = "select" if isinstance(field, Choice) else "textarea" if hasattr(field, "longest") else "input"
        assert control.evaluate("c => c.localName") == kind
        page.eval_on_selector(f"#{field.name}", "e => e.closest('details')?.setAttribute('open', '')")
        assert page.locator(f'label[for="{control.get_attribute("id")}"]').inner_text().startswith(field.label)
