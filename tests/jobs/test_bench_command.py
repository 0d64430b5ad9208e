"""`rowbench bench` from its command line: opened, closed, refused."""

from __future__ import annotations

import json
import threading
import urllib.request

import pytest

from analysis.cli.main import main

OWN = 'title = "Own"\n[ground]\nlength_m = 10\n'


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A folder with a file in it, and a reader in place of a browser: what it read, and how it closed the bench."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "own.toml").write_text(OWN, encoding="utf-8")
    read = []

    def visit(address):
        origin = address.rsplit("/", 2)[0]

        def ask(word, question):
            headers = {"Content-Type": "application/json", "Origin": origin}
            request = urllib.request.Request(address + word, json.dumps(question).encode(), headers)
            with urllib.request.urlopen(request, timeout=30.0) as answer:
                return json.loads(answer.read())

        with urllib.request.urlopen(address, timeout=30.0) as page:
            read.append(page.read().decode())
        scene = ask("open", {"file": "own.toml"})["scene"]
        read.append(ask("cross", {"scene": scene}))
        ask("save", {"scene": scene, "name": "again"})
        ask("close", {})

    def show(address):
        threading.Thread(target=visit, args=(address,)).start()

    monkeypatch.setattr("analysis.cli.pages.bench.show", show)
    return read


def test_it_is_opened_in_a_browser_and_ends_when_that_closes_it(desk, capsys, tmp_path):
    assert main(["bench", "own.toml"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("The bench is open at http://127.0.0.1:")
    assert "Close it with the button on the page, or with Ctrl-C here." in told
    assert told.endswith(f"The bench is closed; saved in {tmp_path}: again.toml.\n")
    assert max(map(len, told.splitlines()[:-1])) <= 120
    page, crossing = desk
    assert page.startswith("<!DOCTYPE html>")
    assert crossing["to_m"] == pytest.approx(10.0)
    assert (tmp_path / "again.toml").is_file()


def test_with_json_the_address_is_said_beside_one_document(desk, capsys):
    assert main(["bench", "own.toml", "--json"]) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)["saved"] == ["again.toml"]
    assert "The bench is open at http://127.0.0.1:" in told.err


def test_ctrl_c_closes_it_as_the_button_does(desk, capsys, monkeypatch):
    def interrupted(address):
        raise KeyboardInterrupt

    monkeypatch.setattr("analysis.cli.pages.bench.show", interrupted)
    assert main(["bench"]) == 0
    assert "The bench is closed; saved in" in capsys.readouterr().out
    monkeypatch.setattr("analysis.bench.serve.wasyncore.loop", lambda **how: interrupted(""))
    assert main(["bench", "--no-browser"]) == 0


def test_only_this_machine_is_listened_to(desk, monkeypatch):
    import socket  # noqa: PLC0415

    asked = []
    create = socket.create_server
    monkeypatch.setattr(socket, "create_server", lambda place: asked.append(place) or create(place))
    assert main(["bench", "own.toml"]) == 0
    assert {host for host, _ in asked} == {"127.0.0.1"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["no_such"], "no scenario of the library"),
        (["missing.toml"], "missing.toml"),
        (["own.toml", "--port", "80"], '--port: given "80"; allowed: a whole number, 1024 to 65535'),
        (["own.toml", "--port", "x"], '--port: given "x"'),
        (["own.toml", "--port", "99999"], "--port"),
        (["own.toml", "--prot", "9000"], "try: --port"),
        (["bad.toml", "--port", "1"], "length_m"),
    ],
)
def test_what_is_wrong_is_told_before_anything_is_served(desk, capsys, tmp_path, words, said):
    (tmp_path / "bad.toml").write_text('title = "x"\n[ground]\nlength_m = -1\n')
    assert main(["bench", *words]) == 2
    told = capsys.readouterr()
    assert said in told.err
    assert told.out == ""
    if words[0] == "bad.toml":
        assert "--port" in told.err  # all at once
    assert desk == []


def test_a_port_that_is_taken_is_told(desk, capsys):
    import socket  # noqa: PLC0415

    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        assert main(["bench", "own.toml", "--port", str(port)]) == 2
    assert f"given {port}, which cannot be listened on" in capsys.readouterr().err
