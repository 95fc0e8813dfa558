"""Nothing is sent anywhere, and nothing is written but what was asked for.

`read`, `bin` and a served upload run in a network of their own without interfaces, and strace notes
every call to the system that opens a socket or writes a file. Where that can't run, Python's own
audit hook stands in, which sees less: not what a library written in C does.
"""

from __future__ import annotations

import os
import pickle
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reader.catalogue.intake.cluster import on_one_core

ROOT = Path(__file__).parents[1]
CALLS = (
    "socket,connect,sendto,sendmsg,sendmmsg,bind,openat,open,creat,mkdir,mkdirat,"
    "rename,renameat,renameat2,unlink,unlinkat,symlink,symlinkat,link,linkat"
)
MADE = re.compile(r"O_(?:WRONLY|RDWR|CREAT)")
NAMED = re.compile(r'"((?:[^"\\]|\\.)*)"')
DEVICES = re.compile(r"/dev/(null|tty|shm/\S*|pts/\d+)|/proc/\S*|pipe:.*")

READ = "read {photos}"
BIN = "bin {photos} --catalogue {work}/catalogue.db --workers 1"
SERVE = """
import json, subprocess, sys, time, urllib.error, urllib.request
command = [sys.executable, "-c", "from reader.cli import main; main()", "serve"]
command += ["--catalogue", "{work}/catalogue.db", "--photos", "{work}/kept", "--workers", "1"]
server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
code = next(line for line in server.stdout if "Code for programs" in line).split()[-1]
photo = open("{photos}/tyre.jpg", "rb").read()
head = b'--b\\r\\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\\r\\n\\r\\n'
kind = {{"Content-Type": "multipart/form-data; boundary=b", "Authorization": "Bearer " + code}}
api = "http://127.0.0.1:8622/api/parts"

def ask(address, body=None):
    return json.load(urllib.request.urlopen(urllib.request.Request(address, body, kind)))

for _ in range(300):
    try:
        sent = ask(api, head + photo + b"\\r\\n--b--\\r\\n")
        break
    except urllib.error.HTTPError as error:
        sys.exit(error.read().decode())
    except OSError:  # it does not listen yet
        time.sleep(0.2)
part = dict(state="")
while part["state"] not in ("done", "failed"):
    time.sleep(0.5)
    part = ask(api + "/" + sent["id"])
print(json.dumps(part))
server.terminate()
server.wait()
"""


def can_be_cut_off():
    """Whether a process may be put into a network of its own and traced."""
    if not (shutil.which("unshare") and shutil.which("strace") and shutil.which("ip")):
        return False
    tried = subprocess.run([*APART, "strace", "-f", "true"], capture_output=True)
    return tried.returncode == 0


APART = ["unshare", "--net", *([] if os.geteuid() == 0 else ["--map-root-user"])]


@pytest.fixture
def shop(tmp_path):
    """An empty home, a folder with one photo, a folder for all that is kept."""
    photos, work, home = tmp_path / "photos", tmp_path / "work", tmp_path / "home"
    for folder in (photos, work, home):
        folder.mkdir()
    shutil.copy(sorted((ROOT / "samples").rglob("*.jpg"))[0], photos / "tyre.jpg")
    return photos, work, home


def environment(work, home):
    kept = {name: os.environ[name] for name in ("PATH", "LD_LIBRARY_PATH") if name in os.environ}
    return kept | {
        "HOME": str(home),
        "TMPDIR": str(work),
        "PYTHONPATH": str(ROOT),
        "PYTHONDONTWRITEBYTECODE": "1",
        "TYREMARK_THREADS": "1",
    }


def traced(command, work, home):
    """Run it cut off from every network; the trace's lines."""
    log = work.parent / "trace"
    trace = ["strace", "-f", "-qq", "-s", "300", "-e", f"trace={CALLS}", "-o", str(log)]
    loop = 'ip link set lo up; exec "$@"'  # the computer's own loop, no interface to the outside
    whole = [*APART, "bash", "-c", loop, "run", *trace, *command]
    done = subprocess.run(
        whole, env=environment(work, home), cwd=work, capture_output=True, text=True, timeout=400
    )
    return done, log.read_text(encoding="utf-8", errors="replace").splitlines()


def sockets(lines, *asked):
    """Calls that reach for a network, but for those that the user asked for."""
    found = []
    for line in lines:
        outward = "AF_INET" in line or "AF_PACKET" in line
        if outward and "127.0.0.1" not in line and not any(a in line for a in asked):
            found.append(line)
    return found


def written(lines, *roots):
    """Paths made, changed or removed outside the roots."""
    found = set()
    for line in lines:
        call = line.split("(", 1)[0].split()[-1] if "(" in line else ""
        opening = call in ("open", "openat")
        if (opening and not MADE.search(line)) or call in ("", "socket", "connect", "bind"):
            continue
        if call.startswith("send") or " = -1 " in line:
            continue
        for path in NAMED.findall(line):
            inside = any(path.startswith(f"{root}/") for root in roots)
            if path.startswith("/") and not inside and not DEVICES.fullmatch(path):
                found.add(path)
    return sorted(found)


def commands(photos, work):
    start = [sys.executable, "-c", "from reader.cli import main; main()"]
    filled = {"photos": photos, "work": work}
    return {
        "read": [*start, *READ.format(**filled).split()],
        "bin": [*start, *BIN.format(**filled).split()],
        "serve": [sys.executable, "-c", SERVE.format(**filled)],
    }


@pytest.mark.parametrize("name", ["read", "bin", "serve"])
def test_no_socket_and_no_file_but_what_was_asked_for(name, shop):
    if not can_be_cut_off():
        pytest.skip("needs strace, iproute2 and a network of its own: the audit below stands in")
    photos, work, home = shop
    before = sorted(photos.iterdir())
    done, lines = traced(commands(photos, work)[name], work, home)
    assert done.returncode in (0, 1), done.stderr
    if name == "serve":
        assert '"verdict"' in done.stdout, done.stdout + done.stderr
    assert sum("openat(" in line for line in lines) > 100, "the trace saw nothing"
    listening = ["SOCK_STREAM"] if name == "serve" else []  # connect and bind are looked at above
    assert sockets(lines, *listening) == []
    assert written(lines, work) == []
    assert list(home.iterdir()) == [] and sorted(photos.iterdir()) == before


AUDIT = """
import sys
def hook(event, args):
    if event in ("socket.connect", "socket.sendto", "socket.getaddrinfo", "socket.bind"):
        print("AUDIT", event, args[1:], file=sys.stderr)
    if event == "open" and isinstance(args[0], (str, bytes)) and set(str(args[1])) & set("wax+"):
        print("AUDIT open", args[0], file=sys.stderr)
sys.addaudithook(hook)
import reader.cli
sys.argv = ["tyremark"] + sys.argv[1:]
reader.cli.main()
"""


@pytest.mark.parametrize("name", ["read", "bin"])
def test_the_same_by_pythons_own_audit(name, shop):
    photos, work, home = shop
    command = [sys.executable, "-c", AUDIT, *commands(photos, work)[name][3:]]
    done = subprocess.run(
        command, env=environment(work, home), cwd=work, capture_output=True, text=True, timeout=400
    )
    assert done.returncode in (0, 1), done.stderr
    seen = [line for line in done.stderr.splitlines() if line.startswith("AUDIT")]
    assert [line for line in seen if str(work) not in line and "/dev/null" not in line] == []
    assert list(home.iterdir()) == []


def test_one_place_brings_the_library_that_runs_models():
    """And that place tells it to record nothing."""
    users = [
        str(path.relative_to(ROOT))
        for path in (ROOT / "reader").rglob("*.py")
        if re.search(r"^\s*(import|from) onnxruntime", path.read_text("utf-8"), re.MULTILINE)
    ]
    assert sorted(users) == ["reader/threads.py", "reader/train/models/quantise.py"]


# Looks at the environment at the moment at which anything first asks for the library.
WATCHED = """
import importlib.abc, os, pickle, sys

class Watch(importlib.abc.MetaPathFinder):
    def find_spec(self, name, *_):
        if name == "onnxruntime":
            print("asked for, told", os.environ.get("ORT_DISABLE_TELEMETRY"), flush=True)

sys.meta_path.insert(0, Watch())
"""
TRAINING = "import reader.train.models.quantise"
JOB = "pickle.loads(sys.stdin.buffer.read()); import onnxruntime"


@pytest.mark.parametrize("arrives", [TRAINING, JOB, "import reader.cli"])
def test_whatever_comes_first_the_library_is_told_before_it_is_loaded(arrives):
    """Training; a job as it comes to a dask worker, whose process is none of ours; our commands."""
    if arrives == TRAINING:
        pytest.importorskip("torch")
    code = f"{WATCHED}\n{arrives}\nfrom reader.threads import onnxruntime; onnxruntime()"
    given = {name: value for name, value in os.environ.items() if name != "ORT_DISABLE_TELEMETRY"}
    said = subprocess.run(
        [sys.executable, "-c", code],
        input=pickle.dumps(on_one_core),
        capture_output=True,
        check=True,
        env={**given, "PYTHONPATH": str(ROOT)},
    )
    assert said.stdout.decode().splitlines() == ["asked for, told 1"]
