"""Who may come in: what a page of another site, or another machine, can send is refused."""

import asyncio
import contextlib
import http.client
import json
import random
from pathlib import Path

import aiohttp
import pytest
from drive.served import Served, conversed, copied, entered


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    site = copied("front-walk", tmp_path_factory.mktemp("door") / "site")
    with Served(site) as page:
        yield page


def asked(served: Served, path: str, method: str = "GET", body: bytes = b"", **headers: str):
    """Send one request as it stands, and return its status, headers and body."""
    line = http.client.HTTPConnection("127.0.0.1", int(served.host.rpartition(":")[2]))
    names = {name.replace("_", "-"): words for name, words in headers.items()}
    line.putrequest(method, path, skip_host="Host" in names, skip_accept_encoding=True)
    for name, words in names.items():
        line.putheader(name, words)
    if body:
        line.putheader("Content-Length", str(len(body)))
    line.endheaders(body or None)
    answer = line.getresponse()
    told = answer.status, answer.headers, answer.read()
    line.close()
    return told


@pytest.fixture(scope="module")
def cookie(served):
    status, headers, _ = asked(served, f"/?key={served.key}")
    assert status == 303
    assert headers["Location"] == "/"
    said = headers["Set-Cookie"]
    assert "HttpOnly" in said
    assert "SameSite=Strict" in said
    return said.partition(";")[0]


def test_the_key_opens_and_goes_from_the_address(served, cookie):
    status, headers, body = asked(served, "/", Cookie=cookie)
    assert status == 200
    assert b"Job sheet" in body
    assert served.key.encode() not in body
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("path", ["/", "/web/app.js", "/live", "/made/crew/crew.pdf"])
def test_without_the_cookie_nothing_is_given(served, path):
    assert asked(served, path)[0] == 403
    assert asked(served, path, Cookie="fallaway-1-all=x")[0] == 403


@pytest.mark.parametrize("key", ["", "x", "a" * 4000, "%00", "%ff"])
def test_a_wrong_key_opens_nothing(served, key):
    status, headers, body = asked(served, f"/?key={key}")
    assert status == 403
    assert "Set-Cookie" not in headers
    assert b"fallaway open" in body


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "fallaway.localhost"])
def test_another_name_for_this_machine_is_refused(served, cookie, host):
    assert asked(served, "/", Cookie=cookie, Host=host)[0] == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1"])
@pytest.mark.parametrize("path", ["/", "/web/app.js", "/live"])
def test_the_page_of_another_site_is_refused(served, cookie, origin, path):
    assert asked(served, path, Cookie=cookie, Origin=origin)[0] == 403


def test_a_picture_of_ours_in_another_page_is_refused(served, cookie):
    words = {"Cookie": cookie, "Sec_Fetch_Site": "cross-site"}
    assert asked(served, "/web/app.js", **words)[0] == 403
    assert asked(served, "/web/app.js", Cookie=cookie, Sec_Fetch_Site="same-origin")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/web/../serve.py", "/web/%2e%2e/serve.py", "/web/..%2f..%2fcli.py", "/web/desk.html",
        "/web/", "/web/.hidden", "/made/../../site.toml", "/made/x/%2e%2e%2fsite.toml",
        "/site.toml",
        "//etc/passwd",
        "/web/app.js%00.png", "/web/__init__.py",
    ],
)  # fmt: skip
def test_no_path_leads_to_another_file(served, cookie, path):
    assert asked(served, path, Cookie=cookie)[0] in (400, 404)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_ways_to_ask_are_refused(served, cookie, method):
    assert asked(served, "/", method, Cookie=cookie)[0] in (400, 405)


def test_a_body_where_none_is_wanted_changes_nothing(served, cookie):
    files = [file for file in served.folder.glob("*.*") if file.is_file()]
    before = [file.read_bytes() for file in files]
    assert asked(served, "/live", "POST", b"x" * 3_000_000, Cookie=cookie)[0] in (404, 405, 413)
    assert [file.read_bytes() for file in files] == before


def test_a_survey_that_is_brought_in_lies_under_a_name_of_ours(served, cookie):
    status, _, body = asked(served, "/survey?name=../../x.csv", "POST", b"x,y,z\n", Cookie=cookie)
    assert status == 200
    (file,) = (served.folder / ".fallaway" / "incoming").iterdir()
    assert file.name in body.decode()
    assert file.read_bytes() == b"x,y,z\n"
    assert not (served.folder.parent / "x.csv").exists()


def test_a_flood_of_what_is_no_message_leaves_the_page_standing(served):
    async def flooded() -> None:
        session = await entered(served)
        async with session:
            for words in ("[]", "{", "7", '"x"', "null", "\u0000"):
                socket = await session.ws_connect(f"{served.home}/live")
                await socket.send_str(words)
                await socket.close()
            socket = await session.ws_connect(f"{served.home}/live")
            for message in (
                "{}", '{"do": 7}', '{"do": "set"}', '{"do": "set", "at": 3, "to": []}',
                '{"do": "several", "changes": 3}', '{"do": "restore", "rev": "x"}',
                '{"do": "file", "name": "../x.csv", "text": ""}', '{"do": "call", "name": "none"}',
                '{"do": "see", "cut": "x", "place": [1], "step": {"a": 1}}',
                '{"do": "make", "what": "../x"}', '{"do": "add", "at": "__class__", "to": 1}',
            ):  # fmt: skip
                await socket.send_str(message)
            await socket.send_bytes(b"\x00" * 100)
            await socket.close()
            async with session.get(f"{served.home}/") as response:
                assert response.status == 200

    asyncio.run(flooded())
    assert served.process.poll() is None


def test_a_message_too_large_ends_that_line_alone(served):
    async def sent() -> None:
        session = await entered(served)
        async with session:
            socket = await session.ws_connect(f"{served.home}/live")
            with contextlib.suppress(aiohttp.ClientError, ConnectionError):
                await socket.send_str("x" * 9_000_000)
                await socket.receive()
            await socket.close()
            async with session.get(f"{served.home}/") as response:
                assert response.status == 200

    asyncio.run(sent())


def test_a_port_that_is_taken_is_told(served):
    port = served.host.rpartition(":")[2]
    other = copied("front-walk", Path(served.folder.parent / "other"))
    with pytest.raises(AssertionError, match="--port: found port"), Served(other, "--port", port):
        pass


def test_a_flood_of_bad_surveys_is_refused_one_by_one_in_sentences(served, cookie):
    """Random bytes under every ending that is read: none is taken, and the page stands."""
    lot = random.Random(5)
    endings = ("csv", "geojson", "dxf", "xml", "xlsx", "las", "laz", "ply", "xyz", "exe", "")
    before = (served.folder / "site.toml").read_bytes(), (served.folder / "spots.csv").read_bytes()
    sent = []
    for ending in endings * 2:
        name = f"bad.{ending}" if ending else "bad"
        body = lot.randbytes(lot.choice((1, 40, 5000)))
        status, _, told = asked(served, f"/survey?name={name}", "POST", body, Cookie=cookie)
        assert status == 200
        sent.append((name, json.loads(told)["file"]))

    async def talk(line):
        for name, file in sent:
            answer = await line.ask(
                do="call", name="import", **{"with": {"file": file, "name": name}}
            )
            assert answer["is"] in ("answer", "refused"), answer
            said = json.dumps(answer)
            assert "Traceback" not in said
            assert "problems" in answer or "wrong" in said, answer

    conversed(served, talk)
    after = (served.folder / "site.toml").read_bytes(), (served.folder / "spots.csv").read_bytes()
    assert before == after
    assert served.process.poll() is None
