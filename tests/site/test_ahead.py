"""Two processes make what one would make, and one makes it all where the other fails."""

import sys

import pytest

from calc.edition import Edition as Answering
from calc.region import REGIONS
from site_src import ahead, answers, edition, guides

GUIDE = '{{ value("cable-drop", "drop", current="9 A", length="2 m") }}'
TASKS = [
    *(("answer", answers.question("cable-drop", current="25 A", length=f"{n} m")) for n in range(1, 40)),
    ("body", guides.Guide("x", "X", "", "home", 1, (), GUIDE)),
]


def made(tasks=TASKS):
    return {task: ahead.DOERS[task[0]](task[1]) for task in tasks}


def test_two_processes_make_the_same_for_any_edition():
    for one in (edition.PLAIN, edition.Edition("A", answers=Answering("A", REGIONS["north-america"]))):
        with edition.building(one):
            assert ahead.worked_out(TASKS) == made()


@pytest.mark.parametrize(
    "command",
    [
        ("no-such-program",),
        (sys.executable, "-c", "pass"),
        (sys.executable, "-c", "import sys; sys.stdin.buffer.read(); print('no pickle')"),
        (sys.executable, "-c", "import os, pickle, sys; pickle.load(sys.stdin.buffer); os._exit(1)"),
    ],
)
def test_where_the_partner_fails_this_process_makes_all(monkeypatch, command):
    monkeypatch.setattr(ahead, "COMMAND", command)
    assert ahead.worked_out(TASKS) == made()


def test_what_the_partner_made_is_known_from_then_on(monkeypatch):
    with edition.building(edition.Edition("B", answers=Answering("B"))):
        ahead.worked_out(TASKS)
        monkeypatch.setattr(answers.calc, "run", lambda *_: pytest.fail("asked again"))
        assert all(answers.answer(*given) for kind, given in TASKS if kind == "answer")


def test_slow_things_are_each_named_once_and_no_club_s():
    ours = guides.all_guides()
    tasks = ahead.slow([*ours, guides.Guide("x", "X", "", "home", 1, (), 'story("front_fuse")', club="A")])
    assert len(tasks) == len(set(tasks)) > 10
    assert all(given.club == "" for kind, given in tasks if kind == "body")
