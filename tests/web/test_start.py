from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
import urllib.request

import pytest

from voidless.errors import InputError
from voidless.web.seam import FactsReader
from voidless.web.server import serve
from voidless.workflows.new import new_campaign

CAMPAIGN = """[campaign]
name = "invented"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.clarity]
min = 0.66
[objective]
minimise = "build_min"
"""


def test_facts_are_worked_out_once_for_each_state_of_the_folder(tmp_path):
    done = []
    (tmp_path / "records.sqlite").write_bytes(b"one")
    reader = FactsReader(tmp_path, lambda folder: done.append(folder) or {"counts": {"builds": len(done)}})
    assert reader.facts() == reader.facts() == {"counts": {"builds": 1}}
    (tmp_path / "records.sqlite-shm").write_bytes(b"touched by reading")
    assert reader.facts() == {"counts": {"builds": 1}}
    (tmp_path / "records.sqlite-wal").write_bytes(b"written")
    assert reader.facts() == {"counts": {"builds": 2}}
    state = (tmp_path / "records.sqlite").stat()
    os.utime(tmp_path / "records.sqlite", ns=(state.st_atime_ns, state.st_mtime_ns + 1_000_000_000))
    assert reader.facts() == {"counts": {"builds": 3}}


def test_a_failed_reading_is_tried_again(tmp_path):
    tries = []

    def once_bad(_folder):
        tries.append(1)
        if len(tries) == 1:
            raise InputError("campaign", "being written")
        return {"counts": {}}

    reader = FactsReader(tmp_path, once_bad)
    with pytest.raises(InputError, match="being written"):
        reader.facts()
    assert reader.facts() == {"counts": {}}


def test_two_who_ask_at_once_cause_one_reading(tmp_path):
    done = []

    def slow(_folder):
        done.append(1)
        time.sleep(0.1)
        return {}

    reader = FactsReader(tmp_path, slow)
    threads = [threading.Thread(target=reader.facts) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(done) == 1


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="there is no such folder"):
        serve(tmp_path / "none")


def test_a_folder_without_a_campaign(tmp_path):
    with pytest.raises(InputError, match="holds no campaign"):
        serve(tmp_path)


@pytest.mark.parametrize("port", [-1, 70000])
def test_a_port_that_cannot_be(tmp_path, port):
    with pytest.raises(InputError, match="0 to 65535"):
        serve(tmp_path, port)


def test_a_port_that_is_taken(tmp_path):
    with (
        socket.create_server(("127.0.0.1", 0)) as taken,
        pytest.raises(InputError, match="cannot be used"),
    ):
        serve(tmp_path, taken.getsockname()[1])


def test_without_the_extra_the_message_says_what_to_install():
    program = (
        "import sys; sys.modules['fastapi'] = None\n"
        "from pathlib import Path\n"
        "from voidless.errors import InputError\n"
        "from voidless.web.app import create_app\n"
        "try:\n    create_app(Path())\nexcept InputError as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    assert "pip install 'voidless[web]'" in done.stdout


def test_importing_the_package_loads_nothing_heavy():
    program = (
        "import sys\nimport voidless.web.app, voidless.web.server, voidless.reporting.document\n"
        "print(sorted({'fastapi', 'uvicorn', 'matplotlib', 'numpy', 'jinja2'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.slow
def test_the_server_answers_at_the_address_it_tells(tmp_path):
    (tmp_path / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
    new_campaign(tmp_path / "campaign", tmp_path / "c.toml")
    program = (
        "from pathlib import Path\nimport voidless.web.app as app\nimport voidless.web.server as server\n"
        "facts = {'campaign': {'name': 'Socket'}}\n"
        "server.create_app = lambda folder: app.create_app(folder, lambda _: facts)\n"
        f"server.serve(Path({str(tmp_path / 'campaign')!r}), 0, lambda address: print(address, flush=True))\n"
    )
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True) as running:
        try:
            assert running.stdout is not None
            address = running.stdout.readline().strip()
            assert address.startswith("http://127.0.0.1:")
            with urllib.request.urlopen(f"{address}/overview", timeout=20) as answer:
                assert "Socket" in answer.read().decode("utf-8")
        finally:
            running.terminate()
