"""The workbench asked as its page asks: the job laid, changed, touched, made, and kept safe."""

from __future__ import annotations

import http.client
import io
import json
import signal
import socket
import zipfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from embellish.workbench.routes import _ROUTES
from embellish.workbench.serving import _listener
from tests.cli.running import embellish
from tests.workbench.serving import Started, bench, put_moth

UNSIZED = b"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><path d='M1 1h7'/></svg>"

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="a" d="M5 20 H55"/></svg>"""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    put_moth(folder)
    return folder


@pytest.fixture(scope="module")
def moth(shelf: Path) -> Iterator[Started]:
    with bench(shelf, "moth.toml") as started:
        yield started


def columns(started: Started) -> dict[str, np.ndarray]:
    state = started.checked()
    facts, found = started.drawing()
    assert (facts["number"], facts["draft"]) == (state["laid"], False)
    return found


def test_the_page_is_shown_what_make_makes(moth: Started, shelf: Path, tmp_path: Path):
    seats = columns(moth)
    facts = moth.get("/api/facts")
    made = embellish("make", str(shelf / "moth.toml"), "--out", str(tmp_path / "made"))
    assert made.returncode == 0
    layout = json.loads((tmp_path / "made" / "layout.json").read_text())
    assert np.array_equal(seats["xy"], np.transpose([layout["seats"][axis] for axis in "xy"]))
    bought = json.loads((tmp_path / "made" / "materials.json").read_text())
    assert facts["materials"] == bought
    quote = json.loads((tmp_path / "made" / "quote.json").read_text())
    assert facts["quote"] == quote


def test_a_change_is_laid_saved_undone_and_done_again(moth: Started, shelf: Path):
    before = (shelf / "moth.toml").read_text()
    count = len(columns(moth)["lay"])
    state = moth.change(
        {"do": "set", "at": ["lay", "edge", "gap_mm"], "value": 3.0}, words="wider gap"
    )
    assert state["back"] == "wider gap"
    assert "gap_mm = 3.0 # a clearance" in (shelf / "moth.toml").read_text()
    assert len(columns(moth)["lay"]) < count
    assert moth.post("/api/undo")["forth"] == "wider gap"
    assert (shelf / "moth.toml").read_text() == before
    assert len(columns(moth)["lay"]) == count
    moth.post("/api/redo")
    assert len(columns(moth)["lay"]) < count
    moth.post("/api/undo")
    assert len(columns(moth)["lay"]) == count


def test_what_the_job_refuses_is_one_sentence_and_changes_nothing(moth: Started, shelf: Path):
    before = (shelf / "moth.toml").read_text()
    words = moth.refused(
        "/api/changes",
        {"number": 1, "changes": [{"do": "set", "at": ["lay", "edge", "gap_mm"], "value": -1}]},
    )
    assert "must be at least 0" in words
    assert (shelf / "moth.toml").read_text() == before


def test_a_piece_is_tried_touched_and_put_back(moth: Started):
    seats = columns(moth)
    number = moth.checked()["number"]
    row = int(np.flatnonzero(seats["lay"] == 0)[10])
    at = seats["xy"][np.flatnonzero(seats["seat"] == row)[0]]
    asked = {"number": number, "rows": [row], "dx_mm": 0.05, "dy_mm": 0.0, "turn_deg": 0.0}
    assert set(moth.post("/api/try", asked)) == {
        *("gap_mm", "asked_mm", "outside_mm", "snap_mm", "fits", "between"),
    }
    moth.post("/api/touch", {"number": number, "rows": [row], "do": "move", "dx_mm": 0.2})
    after = columns(moth)
    moved = np.hypot(*(after["xy"] - at - (0.2, 0.0)).T)
    assert moved.min() < 1e-3
    touched = after["seat"][int(moved.argmin())]
    assert after["hand"][touched] == 1
    number = moth.checked()["number"]
    stale = {"number": number - 1, "rows": [row], "do": "delete"}
    assert "changed meanwhile" in moth.refused("/api/touch", stale)
    moth.post("/api/undo")
    assert np.array_equal(columns(moth)["xy"], seats["xy"])


def test_a_piece_is_added_by_hand(moth: Started):
    seats = columns(moth)
    number = moth.checked()["number"]
    asked = {"number": number, "lay": "feeler", "piece": "P-3-CREAM", "x_mm": 110.0, "y_mm": 8.0}
    moth.post("/api/add", asked)
    assert len(columns(moth)["lay"]) == len(seats["lay"]) + 1
    moth.post("/api/undo")
    columns(moth)


def test_the_tray_finds_pieces_by_words(moth: Started):
    columns(moth)
    found = moth.get("/api/tray?q=ss10+blue&kind=stone&fixing=heat-set")
    assert {each["size"] for each in found["pieces"]} == {"SS10"}
    assert found["count"] == len(found["pieces"]) > 0
    near = moth.get("/api/tray?near=%232244aa&from_mm=2.5&to_mm=3.2&most_each=0.05&order=listed")
    away = [each["delta_e"] for each in near["pieces"]]
    assert away == sorted(away)
    assert all(2.5 <= each["length_mm"] <= 3.2 for each in near["pieces"])
    assert all(float(each["each"]) <= 0.05 for each in near["pieces"])
    cheap = [float(each["each"]) for each in moth.get("/api/tray?order=price")["pieces"]]
    assert cheap == sorted(cheap)
    first, rest = moth.get("/api/tray?kind=stone"), moth.get("/api/tray?kind=stone&start=60")
    assert first["count"] == rest["count"] > 60
    codes = [each["code"] for each in first["pieces"] + rest["pieces"]]
    assert len(set(codes)) == len(codes) > 60
    for wrong in ("kind=brick", "near=nocolour", "order=backwards", "from_mm=-1", "start=NaN"):
        assert moth.client.get(f"/api/tray?{wrong}").status_code == 422
    picture = moth.client.get("/api/sprite?code=R-SS10-BLUE&angle=0")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert picture.content.startswith(b"<?xml")
    assert moth.client.get("/api/sprite?code=NO&angle=0").status_code == 404


def test_a_folder_that_is_a_link_is_not_made_into(tmp_path: Path):
    put_moth(tmp_path)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / "moth-made").symlink_to(elsewhere)
    with bench(tmp_path, "moth.toml") as moth:
        moth.checked()
        told = moth.refused("/api/make", {"anyway": False, "folder": True})
        assert told == (
            "moth-made: this folder is a link to another place."
            " Move the link away, or make a zip instead."
        )
        assert not list(elsewhere.iterdir())
        assert moth.post("/api/make", {"anyway": False, "folder": False})["folder"] is None


def test_everything_is_made_into_a_zip_and_a_folder(moth: Started, shelf: Path):
    columns(moth)
    done = moth.post("/api/make", {"anyway": False, "folder": True})
    names = [each["name"] for each in done["files"]]
    assert "worksheet.html" in names
    assert done["folder"] == "moth-made"
    assert (shelf / "moth-made" / "made.json").exists()
    whole = moth.client.get("/api/made.zip")
    assert 'filename="moth.zip"' in whole.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(whole.content)) as archive:
        assert sorted(archive.namelist()) == sorted(names)
        on_disk = (shelf / "moth-made" / "proof.svg").read_bytes()
        assert archive.read("proof.svg") == on_disk
    sheet = moth.client.get("/api/made/worksheet.html")
    assert sheet.headers["content-security-policy"].startswith("default-src 'self'")
    for trick in (
        *(
            "../moth.toml",
            "%2e%2e/moth.toml",
            "..%2fmoth.toml",
            "..%5cmoth.toml",
            "%252e%252e/moth.toml",
        ),
        *("/etc/passwd", "%2fetc%2fpasswd", str(shelf / "moth.toml"), "proof.svg/../../moth.toml"),
        *("proof.svg%00", "proof.svg/", "PROOF.SVG", "", "made.json?name=../moth.toml%00"),
    ):
        status, words = asked(moth, f"/api/made/{trick}")
        assert status == 404 or trick.startswith("made.json"), trick
        assert "[artwork]" not in words, trick
        assert "root:" not in words, trick


def test_an_edit_outside_comes_in_by_itself(moth: Started, shelf: Path):
    number = moth.checked()["number"]
    path = shelf / "moth.toml"
    before = path.read_text()
    path.write_text(before.replace("Moth on a denim yoke", "Moth, second one"))
    moth.state_with(lambda it: it["number"] != number)
    state = moth.checked()
    assert state["job"]["title"] == "Moth, second one"
    path.write_text("title = ")
    state = moth.state_with(lambda it: it["trouble"])
    assert "moth.toml" in (state["trouble"]["file"] or "")
    assert path.read_text() == "title = "
    moth.post("/api/put-back")
    assert "second one" in path.read_text()
    path.write_text(before)
    columns(moth)


def test_an_edit_outside_is_laid_though_the_change_with_it_is_refused(moth: Started, shelf: Path):
    columns(moth)
    path = shelf / "moth.toml"
    before = path.read_text()
    path.write_text(before.replace("Moth on a denim yoke", "Moth, third one"))
    wrong = {"number": 1, "changes": [{"do": "set", "at": ["lay", "edge", "gap_mm"], "value": -1}]}
    moth.refused("/api/changes", wrong)
    assert moth.checked()["job"]["title"] == "Moth, third one"
    path.write_text(before)
    moth.refused("/api/changes", wrong)
    assert moth.checked()["job"]["title"] == "Moth on a denim yoke"
    columns(moth)


# what keeps it to itself


def raw(started: Started, lines: list[str], body: bytes = b"") -> tuple[int, str]:
    host, port = started.origin.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=10) as held:
        held.sendall("\r\n".join([*lines, "", ""]).encode() + body)
        answer = http.client.HTTPResponse(held)
        answer.begin()
        return answer.status, answer.read().decode(errors="replace")


def cookie(started: Started) -> str:
    return "; ".join(f"{name}={value}" for name, value in started.client.cookies.items())


def asked(started: Started, path: str) -> tuple[int, str]:
    """Ask for a path as it is written, which a client of the web would tidy first."""
    own = started.origin.removeprefix("http://")
    return raw(started, [f"GET {path} HTTP/1.1", f"Host: {own}", f"Cookie: {cookie(started)}"])


def test_another_host_name_is_not_answered(moth: Started):
    for host in ("evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example:80"):
        status, _ = raw(
            moth, ["GET /api/state HTTP/1.1", f"Host: {host}", f"Cookie: {cookie(moth)}"]
        )
        assert status == 421
    own = moth.origin.removeprefix("http://")
    twice = [f"Host: {own}", "Host: evil.example"]
    assert raw(moth, ["GET / HTTP/1.1", *twice, f"Cookie: {cookie(moth)}"])[0] in (400, 421)


@pytest.mark.parametrize(("path", "verb"), sorted({(path, verb) for path, _, verb in _ROUTES}))
def test_no_way_in_is_without_its_guards(moth: Started, path: str, verb: str):
    own = moth.origin.removeprefix("http://")
    path = path.replace("{name:path}", "proof.png").replace("{name}", "main.js")
    ask = f"{verb} {path} HTTP/1.1"
    host, secret = f"Host: {own}", f"Cookie: {cookie(moth)}"
    mine, empty = f"Origin: {moth.origin}", "Content-Length: 0"
    assert raw(moth, [ask, "Host: evil.example", secret, mine, empty])[0] == 421
    assert raw(moth, [ask, host, mine, empty])[0] == 403
    assert raw(moth, [ask, host, secret, "Origin: http://evil.example", empty])[0] == 403
    if verb == "POST":
        assert raw(moth, [ask, host, secret, empty])[0] == 403
        assert raw(moth, [ask, host, secret, mine, "Content-Length: 99999999999"])[0] == 413


@pytest.mark.parametrize("origin", ["http://evil.example", "null", ""])
def test_another_page_changes_nothing(moth: Started, origin: str):
    own = moth.origin.removeprefix("http://")
    head = ["POST /api/undo HTTP/1.1", f"Host: {own}", f"Cookie: {cookie(moth)}"]
    if origin:
        head.append(f"Origin: {origin}")
    assert raw(moth, [*head, "Content-Length: 2"], b"{}")[0] == 403
    got = ["GET /api/state HTTP/1.1", f"Host: {own}", f"Cookie: {cookie(moth)}"]
    assert raw(moth, [*got, f"Origin: {origin or 'http://x'}"])[0] == 403


def test_without_the_secret_of_this_start_nothing_is_told(moth: Started):
    own = moth.origin.removeprefix("http://")
    for path in ("/", "/page/main.js", "/api/state", "/api/made.zip"):
        for more in ([], ["Cookie: embellish-bench-1=x"], [f"Cookie: {cookie(moth)[:-1]}"]):
            status, words = raw(moth, [f"GET {path} HTTP/1.1", f"Host: {own}", *more])
            assert status == 403
            assert "Moth" not in words
    assert raw(moth, ["GET /?token=wrong HTTP/1.1", f"Host: {own}"])[0] == 403


@pytest.mark.parametrize(
    "route",
    [
        *(
            "changes",
            "touch",
            "add",
            "try",
            "open",
            "hand-in?name=a.svg",
            "picture?for=background&lay=&name=a.png",
        ),
        *("look/drawing", "look/words", "look/catalogue", "begin/drawing", "begin/words"),
        *("begin/brought", "photo/place", "make", "fit", "fit/use"),
    ],
)
def test_long_bodies_are_refused_also_in_chunks(moth: Started, route: str):
    own = moth.origin.removeprefix("http://")
    head = [
        f"POST /api/{route} HTTP/1.1",
        f"Host: {own}",
        f"Origin: {moth.origin}",
        f"Cookie: {cookie(moth)}",
    ]
    assert raw(moth, [*head, "Content-Length: 99999999999"])[0] == 413
    chunk = b"%x\r\n%s\r\n" % (1 << 20, b"x" * (1 << 20))
    host, port = own.split(":")
    with socket.create_connection((host, int(port)), timeout=20) as held:
        held.sendall("\r\n".join([*head, "Transfer-Encoding: chunked", "", ""]).encode())
        try:
            for _ in range(64):
                held.sendall(chunk)
        except OSError:
            pass  # it has hung up already
        answer = http.client.HTTPResponse(held)
        answer.begin()
        assert answer.status == 413


def test_the_page_may_load_nothing_from_elsewhere(moth: Started):
    for path in ("/", "/page/main.js", "/api/state"):
        answer = moth.client.get(path)
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'self'")
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "path",
    [
        "/page/../bench.py",
        "/page/..%2fbench.py",
        "/page/%2e%2e/bench.py",
        "/page//etc/passwd",
        "/page/index.html%00.js",
    ],
)
def test_no_name_leads_out_of_the_page(moth: Started, path: str):
    assert asked(moth, path)[0] == 404


@pytest.mark.parametrize("job", ["../moth.toml", "/etc/passwd", "moth.svg", "", "moth.toml/"])
def test_only_jobs_of_the_folder_are_opened(moth: Started, job: str):
    assert "no job" in moth.refused("/api/open", {"job": job})


@pytest.mark.parametrize(
    "asked",
    [b"", b"[]", b"{", b'{"number": 1}', b'{"number": true, "rows": [], "do": "pin"}',
     b'{"number": 1, "rows": [1.5], "do": "pin"}', b'{"number": 1, "rows": [1], "do": "burn"}',
     b'{"number": 1, "rows": [1], "do": "move", "dx_mm": 1e999}', b"[" * 100_000],
)  # fmt: skip
def test_what_is_no_request_is_refused(moth: Started, asked: bytes):
    assert "cannot be read" in moth.refused("/api/touch", asked) or asked == b"[]"


def test_killed_at_any_moment_what_was_answered_is_there(tmp_path: Path):
    put_moth(tmp_path)
    with bench(tmp_path, "moth.toml") as started:
        for n in range(12):
            started.change({"do": "set", "at": ["quantity"], "value": n + 2}, words=f"{n}")
        started.process.send_signal(signal.SIGKILL)
        started.process.wait()
    assert "quantity = 13" in (tmp_path / "moth.toml").read_text()
    with bench(tmp_path, "moth.toml") as again:
        assert again.get("/api/state")["back"] == "11"
        again.post("/api/undo")
    assert "quantity = 12" in (tmp_path / "moth.toml").read_text()


def test_a_port_that_is_taken_is_told(tmp_path: Path):
    with bench(tmp_path) as started:
        port = started.origin.rpartition(":")[2]
        done = embellish("bench", "--no-open", "--port", port, cwd=tmp_path)
        assert done.returncode == 2
        assert f"port {port} cannot be used" in done.stderr


@pytest.mark.parametrize(
    ("seen", "wanted", "told"),
    [
        ([], [], "no photo"),
        ([0, 0, 50, 0], [0, 0, 90.5, 0], "no photo"),
        ([0, 0, 50], [0, 0, 90, 0], "two points"),
        ([0, 0, 50, "0"], [0, 0, 90, 0], "cannot be read"),
        ([0, 0, 50, 1e9], [0, 0, 90, 0], "cannot be read"),
        ([0, 0, 50, True], [0, 0, 90, 0], "cannot be read"),
    ],
)
def test_a_photo_is_placed_by_two_points_or_not_at_all(
    moth: Started, seen: list[object], wanted: list[object], told: str
):
    asked = {"number": moth.checked()["number"], "seen_mm": seen, "wanted_mm": wanted}
    assert told in moth.refused("/api/photo/place", asked)


def test_short_answers_are_sent_at_once():
    with (
        _listener(0) as listening,
        socket.create_connection(listening.getsockname()),
        listening.accept()[0] as accepted,
    ):
        # By this the server sees that what it accepts is TCP, and sends without waiting.
        assert accepted.proto == socket.IPPROTO_TCP
