"""Who is let in at the desk? Another origin, another host, no token, a path upward, too large: refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simrun.desk.desk_guard import LARGEST_JSON_BYTES
from tests.helpers.desks import OWN, PORT, TOKEN, Asker, folder_with

JSON = {"content-type": "application/json", "content-length": "2"}
HOSTILE = "<img src=x onerror=\"document.title='run'\">"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Asker:
    where = tmp_path_factory.mktemp("above")
    (where / "above.toml").write_text("name = 'above'\n", encoding="utf-8")
    return Asker(folder_with(where / "days", "dual_meet"))


def test_the_page_itself_is_let_in(desk: Asker) -> None:
    """With the token, from its own address, under a strict policy of contents."""
    status, heads, body = desk.raw("GET", f"/{TOKEN}/", {"host": OWN["host"]})
    assert status == 200
    policy = heads["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert (heads["referrer-policy"], heads["x-content-type-options"]) == ("no-referrer", "nosniff")
    assert b"<style" not in body
    assert body.count(b"<script") == body.count(b'<script type="module" src=')


@pytest.mark.parametrize(
    ("method", "path", "heads", "status"),
    [
        ("GET", "/", {"host": OWN["host"]}, 404),
        ("GET", "/days", {"host": OWN["host"]}, 404),
        ("GET", f"/{TOKEN[:-1]}x/days", {"host": OWN["host"]}, 404),
        ("GET", f"/{TOKEN}/days", {"host": "evil.example"}, 403),
        ("GET", f"/{TOKEN}/days", {"host": f"127.0.0.1:{PORT + 1}"}, 403),
        ("GET", f"/{TOKEN}/days", {}, 403),
        ("GET", f"/{TOKEN}/days", {**OWN, "origin": "http://evil.example"}, 403),
        ("GET", f"/{TOKEN}/days", {**OWN, "origin": "null"}, 403),
        ("GET", f"/{TOKEN}/days", {"host": OWN["host"], "sec-fetch-site": "cross-site"}, 403),
        ("GET", f"/{TOKEN}/days", {"host": OWN["host"], "sec-fetch-site": "same-site"}, 403),
        ("POST", f"/{TOKEN}/stop", {"host": OWN["host"], **JSON}, 403),
        ("POST", f"/{TOKEN}/stop", {**OWN, "origin": f"http://127.0.0.1:{PORT + 1}", **JSON}, 403),
        ("POST", f"/{TOKEN}/stop", {**OWN, **JSON, "content-type": "text/plain"}, 415),
        ("POST", f"/{TOKEN}/stop", {**OWN, "content-type": "application/json"}, 411),
        ("POST", f"/{TOKEN}/stop", {**OWN, **JSON, "content-length": str(LARGEST_JSON_BYTES + 1)}, 413),
        ("PUT", f"/{TOKEN}/stop", {**OWN, **JSON}, 405),
        ("OPTIONS", f"/{TOKEN}/stop", {**OWN, **JSON}, 405),
    ],
)  # fmt: skip
def test_whoever_is_not_the_page_is_refused(
    desk: Asker, method: str, path: str, heads: dict[str, str], status: int
) -> None:
    """Each of token, host, origin, kind and size alone closes the door, and says nothing."""
    found, told, body = desk.raw(method, path, heads, b"{}")
    assert (found, body) == (status, b"")
    assert "access-control-allow-origin" not in told


def test_a_body_larger_than_it_says_is_cut_off(desk: Asker) -> None:
    """The length that a request names is not believed."""
    heads = {**OWN, **JSON}
    body = b'{"file": "' + b"x" * (LARGEST_JSON_BYTES + 10) + b'"}'
    status, _, _ = desk.raw("POST", f"/{TOKEN}/stop", heads, body)
    assert status == 413


@pytest.mark.parametrize(
    "name",
    [
        "../above.toml", "..\\above.toml", "/etc/passwd", "a/../../above.toml", ".hidden.toml", "",
        "dual_meet.toml/", "dual_meet.toml\x00", "dual_meet", "~/x.toml", "C:x.toml", "x" * 300 + ".toml",
        None, 7, ["dual_meet.toml"], {"a": 1},
    ],
)  # fmt: skip
def test_no_file_outside_the_folder_is_read_or_written(desk: Asker, name: object) -> None:
    """Read, changed, copied, drawn: every way to a file goes through one small door."""
    asked = {"digest": "0", "what": "name", "name": "x"}
    way = {
        "points": [[0, 0], [200, 0], [250, 90]],
        "line": 40,
        "width": 6,
        "boxes": 4,
        "box_width": 3,
    }
    before = sorted(p.name for p in desk.hands.shelf.folder.rglob("*"))
    for status, told in (
        desk.post("change", file=name, **asked),
        desk.post("try", file=name, tilt=1),
        desk.post("first", file=name, tilt=1),
        desk.post("race", file=name, race="Girls"),
        desk.post("copy", file="dual_meet.toml", **{"as": name}),
        desk.post("drawn", file=name, name="x", front_row=2, laps=1, **way),
        desk.post("run", file=name, what="answer", minutes=1),
    ):
        assert status == 404, told
    assert sorted(p.name for p in desk.hands.shelf.folder.rglob("*")) == before


@pytest.mark.parametrize("path", ["out/../dual_meet/x.html", "out/dual_meet/../../dual_meet.toml",
                                  "out/dual_meet/brief_races.db", "out/.git/x.html", "web/../desk_app.py",
                                  "web/desk_guard.py", "out/days/x.html"])  # fmt: skip
def test_no_other_file_is_sent(desk: Asker, path: str) -> None:
    """Answers by plain names in their own folder; of the page only its own parts."""
    assert desk.raw("GET", f"/{TOKEN}/{path}", {"host": OWN["host"]})[0] == 404


def test_a_link_out_of_the_folder_is_not_followed(desk: Asker) -> None:
    """A scenario, and an answer, that are links to somewhere else."""
    folder = desk.hands.shelf.folder
    (folder / "link.toml").symlink_to(folder.parent / "above.toml")
    out = folder / "outputs" / "dual_meet"
    out.mkdir(parents=True, exist_ok=True)
    (out / "link.html").symlink_to(folder.parent / "above.toml")
    try:
        assert desk.post("change", file="link.toml", digest="0", what="name", name="x")[0] == 404
        assert desk.raw("GET", f"/{TOKEN}/out/dual_meet/link.html", {"host": OWN["host"]})[0] == 404
    finally:
        (folder / "link.toml").unlink()
        (out / "link.html").unlink()


@pytest.mark.parametrize(
    "asked",
    [
        {}, {"file": "dual_meet.toml"}, {"file": "dual_meet.toml", "digest": 3, "what": "line"},
        {"what": "line", "width": "wide"}, {"what": "line", "width": 1e308}, {"what": "line", "boxes": 2.5},
        {"what": "line", "width": None, "tilt": [1]}, {"what": "line", "tilt": True},
        {"what": "plan", "front": "x"}, {"what": "plan", "openings": [1]},
        {"what": "plan", "lines": {"a": 1}},
        {"what": "names", "people": 5}, {"what": "place", "kind": "gate", "name": "x", "at": "far"},
        {"what": "nothing"},
        {"what": "place", "kind": "tower", "name": "x", "at": 20},
        {"what": "place", "kind": "gate", "name": "x", "at": 40, "width": -3},
        {"what": "place", "kind": "hill", "name": "x", "at": 40, "length": 1e300, "climb": 4},
        {"what": "straight", "from": 1, "to": [2]}, {"what": "races", "names": "x"},
        {"what": "races", "names": ["a\nb", HOSTILE * 40]}, {"what": "races", "names": ["x"] * 900},
        {"what": "ours", "name": HOSTILE * 40}, {"what": "name", "name": "x" * 5000},
        {"what": "names", "people": [{"name": {"a": 1}, "time": []}]},
        {"what": "place", "kind": "landmark", "name": "\x00\n", "at": 20},
        {"what": "name", "name": "a\nb = 1"},
    ],
)  # fmt: skip
def test_what_no_page_sends_is_refused(desk: Asker, asked: dict) -> None:  # type: ignore[type-arg]
    """Never a trace of the program, never half a change."""
    file = desk.hands.shelf.folder / "dual_meet.toml"
    before = file.read_bytes()
    _, day = desk.get("day", "file=dual_meet.toml")
    whole = {"file": "dual_meet.toml", "digest": day["digest"], **asked}
    status, told = desk.post("change", **(whole if "what" in asked else asked))
    assert status in (404, 409, 422), told
    assert told["told"]
    assert "Traceback" not in json.dumps(told)
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("page", "size", "status"),
    [
        ("1", None, 422),
        ("x", None, 422),
        ("-1", None, 422),
        ("1e400", None, 422),
        ("1", 10**9, 413),
    ],
)
def test_a_map_that_is_none_is_one_line(
    desk: Asker, page: str, size: int | None, status: int
) -> None:
    """Whatever is sent in place of a PDF, and whatever page of it is asked for; nothing is written."""
    before = sorted(p.name for p in desk.hands.shelf.folder.rglob("*"))
    body = b"%PDF-1.7 " + HOSTILE.encode()
    heads = {"content-type": "application/octet-stream", "content-length": str(size or len(body))}
    found, _, told = desk.raw("POST", f"/{TOKEN}/map", {**OWN, **heads}, body, f"page={page}")
    assert found == status
    assert b"Traceback" not in told
    assert status == 413 or len(json.loads(told)["told"]) == 1
    assert sorted(p.name for p in desk.hands.shelf.folder.rglob("*")) == before


@pytest.mark.parametrize("body", [b"", b"[]", b"null", b"{", b"\xff\xfe", b"[" * 100_000])
def test_what_is_no_json_is_refused(desk: Asker, body: bytes) -> None:
    """Four hundred, and a line."""
    heads = {**OWN, "content-type": "application/json", "content-length": str(len(body))}
    status, _, told = desk.raw("POST", f"/{TOKEN}/look", heads, body)
    assert status == 400
    assert json.loads(told)["told"]


def test_an_answer_is_a_page_of_no_origin(desk: Asker) -> None:
    """It may run its own script, but it can ask the desk for nothing."""
    out = desk.hands.shelf.folder / "outputs" / "dual_meet"
    out.mkdir(parents=True, exist_ok=True)
    (out / "brief.html").write_text("<p>told</p>", encoding="utf-8")
    status, heads, _ = desk.raw("GET", f"/{TOKEN}/out/dual_meet/brief.html", {"host": OWN["host"]})
    assert status == 200
    policy = heads["content-security-policy"]
    assert policy.startswith("sandbox ")
    assert "allow-same-origin" not in policy
    assert "connect-src 'none'" in policy


def test_the_page_s_scripts_never_make_markup_of_text() -> None:
    """Names go in as text: no script of ours writes HTML."""
    web = Path(__file__).parents[2] / "simrun" / "desk" / "web"
    for script in sorted(web.glob("*.js")):
        text = script.read_text("utf-8")
        for word in (
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "Function(",
        ):
            assert word not in text, script.name
