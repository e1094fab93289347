"""Attacks that the guard refuses, each beside what it lets through."""

import asyncio
import logging
import re
import socket

import pytest
from support.desk import PORT, Desk

from maps.desk.guard import RequestLimits
from maps.desk.refusals import LONGEST_PATH, Key, same
from maps.desk.serving import open_port, worth_saying

LIMITS = RequestLimits(body=1_000, file=2_000, seconds=0.3)
HERE = f"http://127.0.0.1:{PORT}"


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    return Desk(tmp_path_factory.mktemp("shelf"), LIMITS)


def test_our_own_page_is_answered(desk):
    answer = desk.get("/")
    assert answer.status == 200
    assert "Your scenarios" in answer.text


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"LocalHost:{PORT}"])
def test_the_desk_answers_to_its_own_names(desk, host):
    assert desk.get("/", headers={"host": host}).status == 200


@pytest.mark.parametrize(
    "host",
    [
        f"attacker.example:{PORT}",
        f"127.0.0.1.attacker.example:{PORT}",
        f"127.0.0.1:{PORT}.attacker.example",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"0.0.0.0:{PORT}",
        f"[::1]:{PORT}",
        f"user@127.0.0.1:{PORT}",
        None,
    ],
)
def test_another_name_or_port_is_refused_for_reading_too(desk, host):
    """DNS rebinding: a page of another name that leads to this address."""
    assert desk.get("/", headers={"host": host}).status == 421


def test_two_hosts_are_refused(desk):
    twice = [("host", "attacker.example")]
    assert desk.get("/", twice=twice).status == 400


def test_a_caller_from_another_computer_is_refused(desk):
    assert desk.get("/", client="192.0.2.7").status == 403


@pytest.mark.parametrize("path", ["/", "/static/desk.css", "/s/a/plan", "/nothing"])
def test_nothing_at_all_is_answered_without_the_cookie(desk, path):
    answer = desk.get(path, headers={"cookie": None})
    assert answer.status == 401
    assert "loamhaul desk" in answer.text


def test_the_cookie_has_to_be_right_to_its_last_letter(desk):
    name, right = desk.key.cookie, desk.key.session
    wrong = right[:-1] + ("a" if right[-1] != "a" else "b")
    for value in (wrong, right + "a", "", right.upper()):
        headers = {"cookie": f"{name}={value}"}
        assert desk.get("/", headers=headers).status == 401
    others = f"theme=dark; {name}={right}; other=1"
    assert desk.get("/", headers={"cookie": others}).status == 200


def test_the_cookie_of_another_desk_does_not_open_this_one(desk, tmp_path):
    other = Desk(tmp_path, port=PORT + 1)
    assert other.key.cookie != desk.key.cookie
    theirs = f"{other.key.cookie}={other.key.session}"
    assert desk.get("/", headers={"cookie": theirs}).status == 401
    renamed = f"{desk.key.cookie}={other.key.session}"
    assert desk.get("/", headers={"cookie": renamed}).status == 401
    both = f"{theirs}; {desk.key.cookie}={desk.key.session}"
    assert desk.get("/", headers={"cookie": both}).status == 200


def test_the_token_becomes_a_strict_cookie(desk):
    answer = desk.get(
        f"/open?token={desk.key.token}",
        headers={"cookie": None, "sec-fetch-site": "cross-site"},
    )
    assert answer.status == 200
    assert desk.key.token not in answer.text
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"loamhaul_{PORT}=")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert desk.key.token != desk.key.session


@pytest.mark.parametrize(
    "query",
    ["", "?", "?token=", "?token=x", "?token={0}x", "?token={0}&token={0}", "?t={0}"],
)
def test_no_other_opening_address_opens(desk, query):
    answer = desk.get(f"/open{query.format(desk.key.token)}", headers={"cookie": None})
    assert answer.status in (400, 401)
    assert "set-cookie" not in answer.headers


def test_the_opening_address_is_only_read(desk):
    assert desk.post(f"/open?token={desk.key.token}").status == 405


def test_tokens_are_long_and_never_the_same():
    keys = [Key(PORT) for _ in range(3)]
    texts = {text for key in keys for text in (key.token, key.session)}
    assert len(texts) == 6
    assert all(len(text) >= 43 for text in texts)  # 256 bit
    assert not same("a", "ä")


FORM = "/begin/blank"


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site", "origin": "https://attacker.example"},
        {"sec-fetch-site": "cross-site", "origin": None},
        {"sec-fetch-site": "same-site", "origin": None},
        {"sec-fetch-site": "none", "origin": None},
        {"sec-fetch-site": None, "origin": None},
        {"sec-fetch-site": None, "origin": "https://attacker.example"},
        {"sec-fetch-site": None, "origin": "null"},
        {"sec-fetch-site": None, "origin": f"http://127.0.0.1:{PORT + 1}"},
        {"sec-fetch-site": None, "origin": f"https://127.0.0.1:{PORT}"},
        {"sec-fetch-site": None, "origin": f"http://localhost:{PORT}"},
        {"sec-fetch-site": "same-origin", "origin": "https://attacker.example"},
    ],
)
def test_what_another_page_sends_changes_nothing(desk, headers):
    """Forms of strangers, of another port of this computer, of a page in a sandbox."""
    assert desk.post(FORM, {"name": "x"}, headers=headers).status == 403
    assert desk.opened.shelf.names() == []


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "same-origin", "origin": None},
        {"sec-fetch-site": None, "origin": HERE},
        {"host": f"localhost:{PORT}", "origin": f"http://localhost:{PORT}"},
    ],
)
def test_what_our_own_page_sends_is_looked_at(desk, headers):
    assert desk.post(FORM, {"name": "con"}, headers=headers).status == 422


@pytest.mark.parametrize("site", ["cross-site", "same-site", "nonsense"])
def test_other_pages_cannot_embed_ours(desk, site):
    assert desk.get("/", headers={"sec-fetch-site": site}).status == 403
    assert desk.get("/", headers={"sec-fetch-site": "none"}).status == 200


@pytest.mark.parametrize(
    "path",
    [
        "/s/../secret",
        "/s/%2e%2e/plan",
        "/s/a%2f..%2fb/plan",
        "/s/a%5c..%5cb/plan",
        "/s/a\\b/plan",
        "/s/a%00/plan",
        "/s/a%0d%0aset-cookie:x/plan",
        "//attacker.example/",
        "/s/./plan",
    ],
)
def test_addresses_that_climb_or_hide_are_refused(desk, path):
    assert desk.get(path).status == 400


def test_an_address_has_a_longest_length(desk):
    inside = "/" + "a" * (LONGEST_PATH - 1)
    assert desk.get(inside).status == 404
    assert desk.get(inside + "a").status == 414


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT"])
def test_methods_that_no_page_uses_are_refused(desk, method):
    answer = desk.ask(method, "/", headers={"origin": HERE})
    assert answer.status == 405
    assert "access-control-allow-origin" not in answer.headers


def test_no_socket_is_opened_to_anybody(desk):
    assert desk.ask("GET", "/", kind="websocket").status == -1


def body(size: int) -> bytes:
    return b"name=con&x=" + b"a" * (size - 11)


def test_a_body_that_says_it_is_too_long_is_not_read(desk):
    for size, status in ((1_000, 422), (1_001, 413)):
        headers = {"content-length": str(size)}
        sent = body(size) if status == 422 else b""
        assert desk.post(FORM, headers=headers, body=sent).status == status


def test_a_body_that_grows_too_long_is_broken_off(desk):
    inside = [body(500), b"a" * 500]
    assert desk.post(FORM, pieces=inside).status == 422
    assert desk.post(FORM, pieces=[*inside, b"a"]).status == 413


@pytest.mark.parametrize("length", ["-1", "1e3", "0x10", "٣", "9" * 16])
def test_a_length_that_is_no_number_is_refused(desk, length):
    headers = {"content-length": length.encode().decode("latin-1")}
    assert desk.post(FORM, headers=headers).status == 400


def test_two_lengths_are_refused(desk):
    twice = [("content-length", "3"), ("content-length", "4")]
    assert desk.post(FORM, twice=twice).status == 400


def test_a_body_that_never_ends_is_broken_off(desk):
    assert desk.post(FORM, pieces=[b"a"] * 9, wait=0.1).status == 408


@pytest.mark.parametrize(
    "kind", ["multipart/form-data; boundary=x", "text/plain", "application/json"]
)
def test_a_form_comes_as_a_form(desk, kind):
    headers = {"content-type": kind}
    assert desk.post(FORM, {"name": "x"}, headers=headers).status == 415


def test_a_form_has_a_most_of_fields(desk):
    fields = b"&".join([b"a=1"] * 200)
    assert desk.post(FORM, body=b"name=con&" + fields[4:]).status == 422
    assert desk.post(FORM, body=b"name=con&" + fields).status == 400


def test_every_answer_tells_the_browser_to_load_nothing_from_elsewhere(desk):
    answers = [desk.get("/"), desk.get("/nothing"), desk.get("/static/desk.css")]
    answers += [desk.get("/", headers={"cookie": None}), desk.post(FORM, {"name": ""})]
    for answer in answers:
        rules = answer.headers["content-security-policy"]
        assert "default-src 'none'" in rules
        assert "unsafe" not in rules
        assert "http" not in rules
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"


def test_pages_have_no_script_or_style_inside(desk):
    """The policy would stop them; this says so before a browser does."""
    from maps.desk.looks import STATIC

    for file in STATIC.iterdir():
        if file.name.startswith("desk") and file.name.endswith(".j2"):
            text = file.read_text(encoding="utf-8")
            assert not re.search(r"<script(?! src=)|<style|\son\w+=|\sstyle=", text)
            assert "|safe" not in text, file.name


@pytest.mark.parametrize(
    "name", ["map.html.j2", "desk.py", "nothing.css", "..%2fa.css"]
)
def test_only_our_own_styles_and_scripts_are_sent(desk, name):
    assert desk.get(f"/static/{name}").status in (400, 404)


def test_the_next_free_port_is_taken_for_this_computer_only():
    with open_port(20_500, 40) as first:
        port = first.getsockname()[1]
        with open_port(port, 40) as second:
            assert first.getsockname()[0] == second.getsockname()[0] == "127.0.0.1"
            assert second.getsockname()[1] > port
        with pytest.raises(OSError, match=f"no port from {port} to {port} is free"):
            open_port(port, 1)
        others = {i[4][0] for i in socket.getaddrinfo(socket.gethostname(), None)}
        for address in others - {"127.0.0.1", "::1"}:
            if ":" not in address and not address.startswith("127."):
                with socket.socket() as caller:
                    assert caller.connect_ex((address, port)) != 0


@pytest.mark.parametrize(
    ("words", "fault", "said"),
    [
        ("Exception in ASGI application", asyncio.CancelledError(), False),
        ("Exception in ASGI application", ValueError("x"), True),
        ("Cancel %s running task(s), timeout graceful shutdown exceeded", None, False),
        ("something else", None, True),
    ],
)
def test_a_desk_that_closes_tells_of_no_request_cut_off(words, fault, said):
    told = (type(fault), fault, None) if fault else None
    record = logging.LogRecord("uvicorn.error", 40, "", 0, words, (), told)
    assert worth_saying(record) is said
