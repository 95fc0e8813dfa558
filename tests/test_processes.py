"""Processes that work for this one: answers, deaths, hangs and goodbyes."""

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from reader.errors import InputError
from reader.processes import Child, Died, Stopped, TooLate


def ready(word):
    """Answers what the question says, in the process."""

    def answer(question, progress):
        if question == "die":
            os._exit(9)
        if question == "hang":
            time.sleep(60)
        if question == "refuse":
            raise InputError("no", "ask otherwise")
        progress("half", 0.5)
        return f"{word} {question} {os.environ.get('HOW', '')} {os.getpid()}"

    return answer


@pytest.fixture
def child():
    made = Child(ready, "said:", env={"HOW": "quietly"})
    yield made
    made.kill()


def test_it_answers_and_tells_how_far_it_is(child):
    heard = []
    answer = child.ask("hello", progress=lambda *told: heard.append(told))
    assert answer.startswith("said: hello quietly") and heard == [("half", 0.5)]
    assert "HOW" not in os.environ and int(answer.split()[-1]) != os.getpid()


def test_what_is_raised_there_is_raised_here_and_it_goes_on(child):
    with pytest.raises(InputError, match="no"):
        child.ask("refuse")
    assert child.alive and child.ask("then").startswith("said: then")


@pytest.mark.parametrize(("question", "error"), [("die", Died), ("hang", TooLate)])
def test_death_and_delay_end_it(child, question, error):
    child.ask("warm up")
    began = time.monotonic()
    with pytest.raises(error):
        child.ask(question, seconds=0.5)
    assert not child.alive and time.monotonic() - began < 10


def test_it_stops_when_nobody_wants_the_answer(child):
    stop = threading.Event()
    threading.Timer(0.3, stop.set).start()
    with pytest.raises(Stopped):
        child.ask("hang", stop=stop)
    assert not child.alive


def test_ctrl_c_is_for_the_owner(child):
    pid = int(child.ask("who").split()[-1])
    os.kill(pid, signal.SIGINT)
    assert child.ask("still").startswith("said: still")


OWNER = """
import sys
sys.path.insert(0, {folder!r})
from test_processes import ready
from reader.processes import Child
if __name__ == "__main__":
    child = Child(ready, "")
    print(child.ask("who").split()[-1], flush=True)
    child.ask("hang")
"""


def test_it_goes_when_its_owner_is_killed(tmp_path):
    script = tmp_path / "owner.py"
    script.write_text(OWNER.format(folder=str(Path(__file__).parent)))
    owner = subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True)
    pid = int(owner.stdout.readline())
    owner.kill()
    owner.wait()
    for _ in range(100):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return
        if Path(f"/proc/{pid}/stat").read_text().split()[2] == "Z":
            return
        time.sleep(0.05)
    pytest.fail("it is still there")
