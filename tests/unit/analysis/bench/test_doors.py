"""Who may ask the bench."""

from __future__ import annotations

import benches
import pytest

from analysis.bench.doors import CLOSED, HEADERS, new_token

OWN = f"127.0.0.1:{benches.PORT}"


@pytest.fixture
def bench(tmp_path):
    return benches.bench_in(tmp_path)


@pytest.mark.parametrize(
    "headers",
    [
        {"HTTP_HOST": "rowbench.example"},
        {"HTTP_HOST": f"rowbench.example:{benches.PORT}"},
        {"HTTP_HOST": "127.0.0.1:1"},
        {"HTTP_HOST": None},
        {"HTTP_ORIGIN": "http://elsewhere.example"},
        {"HTTP_ORIGIN": f"http://localhost:{benches.PORT}"},
        {"HTTP_ORIGIN": f"https://{OWN}"},
        {"HTTP_ORIGIN": "null"},
        {"HTTP_ORIGIN": None},
        {"HTTP_SEC_FETCH_SITE": "cross-site"},
        {"HTTP_SEC_FETCH_SITE": "same-site"},
    ],
)
@pytest.mark.parametrize("word", ["files", "save"])
def test_a_question_from_elsewhere_is_refused(bench, headers, word, tmp_path):
    status, text, _ = benches.asked(bench, word, {}, **headers)
    assert (status, text.strip()) == (403, CLOSED)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("token", ["", "wrong", benches.TOKEN[:-1], benches.TOKEN + "x", "ü", f"x/{benches.TOKEN}"])
@pytest.mark.parametrize(("method", "word"), [("POST", "files"), ("GET", "")])
def test_without_its_token_nothing_is_answered(bench, token, method, word):
    assert benches.asked(bench, word, {}, method=method, token=token)[0] == 403


def test_a_link_on_another_site_does_not_open_the_page(bench):
    open_page = {"method": "GET", "HTTP_ORIGIN": None}
    assert benches.asked(bench, "", **open_page)[0] == 200
    assert benches.asked(bench, "", **open_page, HTTP_SEC_FETCH_SITE="none")[0] == 200
    assert benches.asked(bench, "", **open_page, HTTP_SEC_FETCH_SITE="cross-site")[0] == 403


def test_its_own_page_may_ask_by_either_name_of_this_machine(bench):
    assert benches.asked(bench, "files", {})[0] == 200
    own = f"localhost:{benches.PORT}"
    assert benches.asked(bench, "files", {}, HTTP_HOST=own, HTTP_ORIGIN=f"http://{own}")[0] == 200


def test_every_answer_forbids_what_the_page_does_not_need(bench):
    for word, method in (("files", "POST"), ("", "GET"), ("no-such", "POST")):
        told = benches.asked(bench, word, {}, method=method)[2]
        assert set(HEADERS) <= set(told.items())
    assert "default-src 'none'" in dict(HEADERS)["Content-Security-Policy"]


def test_tokens_are_long_and_differ():
    made = {new_token() for _ in range(50)}
    assert len(made) == 50
    assert min(map(len, made)) >= 32
