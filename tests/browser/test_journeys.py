"""What a reader does, from the first visit to a dead spot and a broken deploy, in three engines."""

from __future__ import annotations

import io
import shutil
from urllib.parse import urlencode

import numpy as np
import pytest
from PIL import Image

import calc
from tests.browser.conftest import CHECKS, EACH_KIND, SUB_PATH, edition, pages_of
from tests.browser.engines import Chromium, Phone, missing
from tests.browser.host import Fault, Host
from tests.browser.phones import (  # noqa: F401
    describe_van,
    engine,
    expect_answer,
    fill,
    kept,
    phone,
    saved,
    turn_to_step,
    visit,
)
from tests.browser.test_update import LOOK

CHECK = "cable-drop"
TYPED = {"current": "31 A", "length": "7 m", "return_path": "body"}


@pytest.mark.parametrize(("name", "packages"), [("Firefox", "firefox-esr"), ("WebKit", "webkit2gtk-driver xvfb")])
def test_an_engine_that_is_not_here_says_how_to_get_it(monkeypatch, name, packages):
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert f"apt install {packages}" in missing(name)


# The first visit, and no signal


def test_a_first_visit_answers_and_is_saved(phone, host, built):
    phone.open(f"{host.url}checks/{CHECK}/")
    assert phone.text("#story") == calc.checks()[CHECK].example_story
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)
    phone.wait_for(offline="ready", engine="ready")
    assert phone.state("edition") == edition(built)


def test_with_no_signal_every_page_opens(phone, built):
    with Host(built, SUB_PATH) as host:
        visit(phone, host)
        host.stop()
        for path in pages_of(built):
            phone.open(host.url + path)
            assert phone.state("edition") == edition(built), path
            assert phone.run("return getComputedStyle(document.body).maxWidth;") != "none", path


def test_with_no_signal_every_check_answers(saved, request):
    """By link: typed key by key, each key of a trip would be followed through the trip.

    A quick and a simulated one without `--all`: the others in `test_memory` and on the paths of `test_people`.
    """
    phone, host = saved
    host.stop()
    for check in CHECKS if request.config.getoption("--all") else EACH_KIND[:2]:
        inputs = dict(calc.checks()[check].example)
        phone.open(f"{host.url}checks/{check}/#{urlencode(inputs)}")
        expect_answer(phone, check, inputs)


def test_with_no_signal_an_unknown_address_says_so(saved):
    phone, host = saved
    host.stop()
    phone.open(f"{host.url}nonsense/deep/down/")
    assert phone.text("h1") == "There is no such page in the book"


# Links


def test_a_link_gives_the_same_form_and_answer_on_another_phone(phone, host, built):
    phone.open(f"{host.url}checks/{CHECK}/")
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)
    address, typed = phone.run("return location.href;"), phone.value("#current")
    with Host(built) as elsewhere:
        phone.open(address.replace(host.url, elsewhere.url))
        expect_answer(phone, CHECK, TYPED)
        assert phone.value("#current") == typed


MUCH = 150
TYPE_MUCH = """
  const input = document.getElementById("current");
  for (let n = 1; n <= given; n += 1) {
    input.value = String(n / 10);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await new Promise((resolve) => setTimeout(resolve, 15));
  }
"""


def test_much_that_is_typed_in_a_short_while_is_answered_and_comes_into_the_address(phone, host):
    """WebKit lets an address be written 100 times in half a minute, and then breaks off the script that writes."""
    phone.open(f"{host.url}checks/{CHECK}/")
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)
    phone.run(TYPE_MUCH, MUCH)
    expect_answer(phone, CHECK, TYPED | {"current": f"{MUCH / 10:g} A"})
    phone.wait_until("location.hash.includes(`current=${given}&`)", f"{MUCH / 10:g}")


HOSTILE = ("<img src=x onerror=alert(1)>", "1e400 A", "9" * 5000, "%00", "'); alert(1)//")


def test_a_hostile_link_gets_a_sentence(phone, host):
    phone.open(f"{host.url}checks/{CHECK}/")
    for text in HOSTILE:
        phone.run("location.hash = given;", urlencode({"current": text, "length": "6 m"}))
        phone.wait_until("document.getElementById('current').value === given.slice(0, 200)", text)
        phone.wait_to_see("#current-error")
        assert 20 < len(phone.text("#current-error")) < 400
        assert phone.run("return document.querySelectorAll('main img').length;") == 0


# Set-ups


def test_a_set_up_is_kept_and_opened_again_with_no_signal(saved):
    phone, host = saved
    phone.open(f"{host.url}set-ups/edit/")
    id = describe_van(phone)
    host.stop()
    phone.open(f"{host.url}set-ups/#id={id}")
    phone.wait_to_see("#opened")
    assert phone.text("#opened-name") == "Van"
    phone.wait_to_see("#drawing svg")
    phone.open(f"{host.url}set-ups/edit/#id={id}")
    phone.wait_to_see("#set-up")
    assert phone.value('[name="second.0.capacity"]') == "95 Ah"


def test_a_set_up_goes_to_another_phone_by_link(saved, built):
    phone, host = saved
    phone.open(f"{host.url}set-ups/edit/")
    id = describe_van(phone)
    phone.open(f"{host.url}set-ups/#id={id}")
    phone.wait_to_see("#opened")
    phone.click("#copy")
    phone.wait_until("document.getElementById('link').value")
    address = phone.value("#link")
    with Host(built) as elsewhere:
        phone.open(address.replace(host.url, elsewhere.url))
        phone.wait_to_see("#opened")
        assert phone.text("#opened-name") == "Van"
        assert kept(phone) == []
        phone.click("#keep")
        phone.wait_to_see("#is-kept")
        assert [one["second"] for one in kept(phone)] == [[{"chemistry": "gel", "capacity": "95 Ah"}]]


def test_two_tabs_that_write_lose_nothing(saved):
    phone, host = saved
    phone.open(f"{host.url}set-ups/edit/")
    id = describe_van(phone)
    here = phone.tab()
    there = phone.new_tab()
    phone.open(f"{host.url}set-ups/edit/#id={id}")
    phone.wait_to_see("#set-up")
    turn_to_step(phone, "second")
    phone.fill('[name="second.0.capacity"]', "120 Ah")
    phone.turn_to(here)
    phone.fill("#set-up-name", "Bus")
    phone.wait_to_see("#other-tab")
    phone.turn_to(there)
    assert [(one["name"], one["second"][0]["capacity"]) for one in kept(phone)] == [
        ("Bus (copy)", "95 Ah"),
        ("Van", "120 Ah"),
    ]


# Editions


def test_a_newer_edition_is_offered_and_taken(saved, built, newer):
    phone, host = saved
    phone.open(f"{host.url}checks/{CHECK}/")
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)
    host.folder = newer
    assert look_for_newer(phone) == "waiting"
    phone.wait_to_see("#update")
    assert phone.state("edition") == edition(built)
    phone.click("#update-now")
    phone.wait_for(edition=edition(newer), offline="ready")
    expect_answer(phone, CHECK, TYPED)
    host.stop()
    phone.open(f"{host.url}about/")
    assert phone.state("edition") == edition(newer)


def test_a_set_up_outlives_an_update(saved, newer):
    phone, host = saved
    phone.open(f"{host.url}set-ups/edit/")
    id = describe_van(phone)
    host.folder = newer
    assert look_for_newer(phone) == "waiting"
    phone.wait_to_see("#update")
    phone.click("#update-now")
    phone.wait_for(edition=edition(newer), offline="ready")
    phone.open(f"{host.url}set-ups/#id={id}")
    phone.wait_to_see("#opened")
    assert phone.text("#opened-name") == "Van"


def look_for_newer(phone: Phone) -> str:
    """Look for a newer edition now; return how its saving ended."""
    return phone.run(f"return ({LOOK})();")


@pytest.fixture(scope="module")
def fetched_for_newer(browser, built, newer) -> list[str]:
    """What a phone that has the older edition fetches of the newer one, beside the worker."""
    with Host(built) as host:
        phone = Chromium(browser)
        visit(phone, host)
        host.folder = newer
        host.asked.clear()
        assert look_for_newer(phone) == "waiting"
        phone.quit()
        return [path for path in host.asked if path != "sw.js"]


def test_a_broken_deploy_is_refused(saved, built, newer, fetched_for_newer):
    """One fault of many, which `test_faults` puts all."""
    phone, host = saved
    path = fetched_for_newer[len(fetched_for_newer) // 2]
    host.folder = newer
    host.faults[path] = Fault(200, "text/html", b"<title>Free Wi-Fi</title>")
    assert look_for_newer(phone) == "refused"
    assert not phone.sees("#update")
    host.stop()
    for page in ("", "sources/", f"checks/{CHECK}/"):
        phone.open(host.url + page)
        assert phone.state("edition") == edition(built)
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)


# What was saved is lost


LOSE_CACHES = "for (const name of await caches.keys()) await caches.delete(name);"
LOSE_ALL = f"""
    {LOSE_CACHES}
    for (const each of await navigator.serviceWorker.getRegistrations()) await each.unregister();
    localStorage.clear();
"""


def test_when_the_browser_drops_the_files_under_a_page_it_goes_on_and_they_are_saved_again(saved):
    phone, host = saved
    phone.open(f"{host.url}set-ups/edit/")
    id = describe_van(phone)
    phone.open(f"{host.url}checks/{CHECK}/#{urlencode({'length': '7 m'})}")
    phone.wait_for(engine="ready")
    phone.run(LOSE_CACHES)
    fill(phone, {"current": "31 A"})
    phone.wait_to_see("#heading-answer")
    phone.open(f"{host.url}set-ups/#id={id}")
    phone.wait_to_see("#opened")
    phone.wait_for(offline="ready")
    host.stop()
    phone.open(f"{host.url}about/")
    assert phone.text("h1")


def test_when_the_browser_drops_everything_the_next_visit_is_like_the_first(saved, built):
    phone, host = saved
    phone.run(LOSE_ALL)
    visit(phone, host)
    host.stop()
    phone.open(f"{host.url}checks/{CHECK}/")
    fill(phone, TYPED)
    expect_answer(phone, CHECK, TYPED)


# By keyboard alone


def tab_to(phone: Phone, id: str) -> None:
    """Press Tab until a control has the focus."""
    for _ in range(60):
        if phone.is_so("document.activeElement?.id === given", id):
            return
        phone.press("Tab")
    raise AssertionError(f"In {phone.engine} Tab never comes to {id}")


def test_a_check_is_answered_by_keyboard_alone(phone, host):
    phone.open(f"{host.url}checks/{CHECK}/")
    for name in ("current", "length"):
        tab_to(phone, name)
        phone.press(*TYPED[name])
    phone.press("Tab")
    expect_answer(phone, CHECK, {name: TYPED[name] for name in ("current", "length")})


def test_the_screen_shows_the_page(phone, host):
    """A picture of one colour only would mean that nothing was drawn, whatever the page says of itself."""
    phone.open(host.url)
    pixels = np.asarray(Image.open(io.BytesIO(phone.picture())).convert("L"))
    assert pixels.std() > 5
