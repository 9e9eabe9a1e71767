"""Two processes share what takes long to work out for the pages: answers about whole vehicles, and guides of them.

The partner works through the list from its front and hands back each thing as it is done; this process works from its
back, until they meet. A result is the same whoever made it, so that a build with the partner is the same to the byte as
one without: where none starts, or it ends early, this process does all.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import calc
from calc.check import Check
from site_src import answers, edition, guides

ROOT = Path(__file__).parent.parent
COMMAND = (sys.executable, "-m", "site_src.ahead")

Task = tuple[str, object]
"""What kind of thing, and of what: ("answer", question) or ("body", guide)."""

DOERS: Mapping[str, Callable] = {
    "answer": lambda question: answers.answer(*question),
    "body": lambda guide: guides.body(guide, guides.ABOVE),
}


def slow(every_guide: Sequence[guides.Guide]) -> list[Task]:
    """Return what takes long: guides with stories first, which take longest, then other guides, then answers."""
    whole = [check for check in calc.checks().values() if check.whole]
    marks = ["story(", *(f'"{check.id}"' for check in whole)]
    quoting = [guide for guide in every_guide if not guide.club and any(mark in guide.text for mark in marks)]
    quoting.sort(key=lambda guide: -guide.text.count("story("))
    asked = [("answer", question) for check in whole for question in questions(check)]
    return [*(("body", guide) for guide in quoting), *dict.fromkeys(asked)]


def questions(check: Check) -> Iterator[answers.Question]:
    """Yield what a check's page asks: its example, and the cells of its tables."""
    yield answers.question(check.id, **check.example)
    for cases in check.cases:
        for _, row in cases.rows:
            for _, column in cases.columns:
                yield answers.question(check.id, **{**cases.inputs, **row, **column})


def worked_out(tasks: Sequence[Task]) -> dict[Task, object]:
    """Return what comes of each task, made by two processes; answers are known from then on."""
    made: dict[Task, object] = {}
    with partner(tasks) as other:
        for number in reversed(range(len(tasks))):
            kind, given = tasks[number]
            taken = other.result(number)
            made[tasks[number]] = taken[0] if taken else DOERS[kind](given)
            if taken and kind == "answer":
                answers.know(given, taken[0])
    return made


class Partner:
    """The other process, as this one sees it: what it has done, in the order of the tasks."""

    def __init__(self):
        self.done: list[object] = []
        self.ended = False
        self.news = threading.Condition()

    def listen(self, stream) -> None:
        """Take what it has done, until it ends."""
        try:
            while True:
                result = pickle.load(stream)
                with self.news:
                    self.done.append(result)
                    self.news.notify()
        except Exception:  # its end, and whatever else is no answer of its
            with self.news:
                self.ended = True
                self.news.notify()

    def result(self, number: int) -> tuple[object, ...]:
        """Return what it made of a task, alone in a tuple, after a wait where it is at it; else an empty one."""
        with self.news:
            while number == len(self.done) and not self.ended:
                self.news.wait()
            return (self.done[number],) if number < len(self.done) else ()


@contextmanager
def partner(tasks: Sequence[Task]) -> Iterator[Partner]:
    """Start the partner on these tasks, and end it."""
    made = Partner()
    try:
        process = subprocess.Popen(
            COMMAND, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
    except OSError:
        made.ended = True
        yield made
        return
    listener = threading.Thread(target=made.listen, args=(process.stdout,), daemon=True)
    listener.start()
    try:
        with process.stdin as job:
            job.write(pickle.dumps((edition.current(), tasks)))
    except OSError:
        process.kill()
    try:
        yield made
    finally:
        process.kill()
        process.wait()
        listener.join()
        process.stdout.close()


def main() -> None:
    """Be the partner: tasks on standard input, what comes of each on standard output."""
    chosen, tasks = pickle.load(sys.stdin.buffer)
    with edition.building(chosen):
        for kind, given in tasks:
            pickle.dump(DOERS[kind](given), sys.stdout.buffer)
            sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
