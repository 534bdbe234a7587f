"""What comes from elsewhere, is too much, or was never asked for: refused, and never opened, run or believed."""

from __future__ import annotations

import asyncio
import gzip
import io
import zipfile
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest

from dampkit.app.serve import guard
from dampkit.app.serve.door import GUESSES, PAUSE_S
from dampkit.app.serve.drafts import MOST_PHOTOS, MOST_RECORDS
from dampkit.app.serve.guard import BODY, Names, cookie_header
from dampkit.app.serve.understood import understand
from dampkit.app.serve.workers import Workers
from dampkit.bench.gate import UNPACKED
from dampkit.store.facts import NAMES
from tests.app.serve.desk import HERE, HOST, SAMPLES, Desk, house_in, words

ATTACK = "\"'><script>alert(1)</script><img src=x onerror=alert(1)>"


def code_of(answer: httpx.Response) -> int:
    return answer.status_code


@pytest.mark.parametrize(
    "host", ["attacker.example", f"attacker.example:{HOST[-4:]}", "127.0.0.1", f"{HOST}.attacker.example", ""]
)
def test_it_answers_to_its_own_name_alone(desk: Desk, host: str) -> None:
    for path in ("/", "/static/page.css", "/book", "/events"):
        assert code_of(desk.ask("GET", path, headers={"host": host})) == 421


@pytest.mark.parametrize(
    "origin",
    [None, "null", "http://attacker.example", f"https://{HOST}", f"http://{HOST}.attacker.example", "http://127.0.0.1"],
)
def test_forms_come_from_its_own_pages_alone(desk: Desk, origin: str | None) -> None:
    desk.get("/")
    headers = {} if origin is None else {"origin": origin}
    answer = desk.ask("POST", "/begin", data={"token": desk.token, "pasted": "x"}, headers=headers)
    assert code_of(answer) == 403
    assert desk.house.drafts.all() == ()


def test_every_form_needs_the_token_of_its_session(desk: Desk, workers: Workers) -> None:
    work = desk.begun("low_oil.csv")
    other = Desk(desk.house)
    other.get("/")
    forms = ["/begin", "/try", "/side-by-side", "/take", "/card", "/bench", "/bench/check", "/workshop"]
    forms += [f"/exchange/{what}" for what in ("in", "out", "check")]
    forms += [f"/book/1/{what}" for what in ("beside", "put-right", "sign", "work")]
    forms += [
        f"{work}/{step}"
        for step in (
            "record",
            "unit",
            "car",
            "inspection",
            "costs",
            "stock",
            "keep",
            "check",
            "more",
            "remove",
            "leave-out",
            "leave-out-photo",
        )
    ]
    forms += [f"{work}/unit/card", f"{work}/unit/library"]
    for path in forms:
        for token in ("", "0" * 64, other.token):
            answer = desk.ask("POST", path, data={"token": token, "pasted": "x"}, headers={"origin": HERE})
            assert code_of(answer) == 403, path
    assert len(desk.house.drafts.all()) == 1


def test_only_reading_and_sending(desk: Desk) -> None:
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert code_of(desk.ask(method, "/", headers={"origin": HERE})) == 405


def test_every_page_carries_a_policy_without_inline_scripts(desk: Desk) -> None:
    work = desk.begun("low_oil.csv")
    for path in ("/", "/book", f"{work}/record", f"{work}/unit", "/nowhere", "/static/serve.js"):
        answer = desk.ask("GET", path)
        policy = answer.headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "script-src 'self'" in policy
        assert "default-src 'none'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["x-frame-options"] == "DENY"
        assert " style=" not in answer.text or "static" in path
        assert " onclick=" not in answer.text


def test_a_session_is_no_other_sites_and_no_scripts(desk: Desk) -> None:
    cookie = desk.ask("GET", "/").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert cookie.startswith("dampkit-8719=")
    assert "Secure" not in cookie
    assert "Secure" in cookie_header("x", "bench.example", Names(frozenset(), frozenset({"bench.example"})))


def test_more_than_may_be_sent_is_refused_before_and_while_it_comes(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(BODY.variable, "100000")
    desk.get("/")
    headers = {"origin": HERE, "content-type": "multipart/form-data; boundary=x"}
    assert code_of(desk.ask("POST", "/begin", content=b"x" * 100001, headers=headers)) == 413

    async def unsaid() -> AsyncIterator[bytes]:
        yield b'--x\r\ncontent-disposition: form-data; name="records"; filename="a"\r\n\r\n'
        for _ in range(20):
            yield b"0" * 10000

    answer = desk.ask("POST", "/begin", content=unsaid(), headers=headers)
    assert code_of(answer) == 413
    assert BODY.variable in answer.text
    for length in ("-1", "1e3", "ten"):
        assert code_of(desk.ask("POST", "/begin", content=b"", headers={**headers, "content-length": length})) == 413


def test_what_stops_coming_is_not_waited_for(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "STALLED_S", 0.05)
    desk.get("/")

    async def stalled() -> AsyncIterator[bytes]:
        yield b'--x\r\ncontent-disposition: form-data; name="records"; filename="a"\r\n\r\n'
        await asyncio.sleep(3600)

    headers = {"origin": HERE, "content-type": "multipart/form-data; boundary=x"}
    answer = desk.ask("POST", "/begin", content=stalled(), headers=headers)
    assert code_of(answer) == 408
    assert "It stopped coming" in answer.text


def test_no_more_files_than_a_test_has(desk: Desk) -> None:
    desk.get("/")
    many = [("records", (f"{n}.csv", str(n).encode())) for n in range(MOST_RECORDS + MOST_PHOTOS + 5)]
    assert "at most 70 files" in words(desk.send("/begin", {}, many))
    fields = {f"f{n}": "x" for n in range(500)}
    assert code_of(desk.send("/begin", fields)) == 413
    said = words(desk.send("/begin", {"pasted": "1,2,3\n" * 1_500_000}))
    assert "a pasted table of 8 million letters. Save a longer table as a file" in said
    assert desk.house.drafts.all() == ()


@pytest.mark.parametrize(
    "name", ["../../evil.csv", "..\\..\\evil.csv", "/etc/evil.csv", "C:\\evil.csv", "evil.csv\x00.png", "." * 300]
)
def test_a_name_is_a_label_and_never_a_place(desk: Desk, tmp_path: Path, name: str) -> None:
    desk.get("/")
    before = {path for path in tmp_path.rglob("*") if path.is_file()}
    desk.send("/begin", {}, [("records", (name, (SAMPLES / "drawing_table.csv").read_bytes()))])
    (draft,) = desk.house.drafts.all()
    made = {path for path in tmp_path.rglob("*") if path.is_file()} - before
    folder = desk.house.drafts.folder / draft.id
    assert {path.parent for path in made} == {folder}
    assert {path.name for path in made if path.suffix != ".part"} <= {draft.records[0].sha256, "work.json", "look.json"}
    assert not {"/", "\\", "\0"} & set(draft.records[0].label)
    assert len(draft.records[0].label) <= 200


@pytest.mark.parametrize(
    "path",
    ["/static/%2e%2e%2frun.py", "/static/%2e%2e/run.py", "/static//etc/hostname", "/static/secret", "/draft/%2e%2e", "/draft/%2e%2e/record", "/draft/" + "0" * 32 + "/record",
     "/draft/work.json/record", "/book/1/photo/%2e%2e", "/book/1/record/-1", "/book/x", "/card?kind=workshop&name=x", "/card?kind=../x&name=x"],
)  # fmt: skip
def test_no_path_of_a_client_is_ever_opened(desk: Desk, path: str) -> None:
    answer = desk.ask("GET", path)
    assert code_of(answer) in (404, 422)
    assert "import" not in answer.text


def test_what_is_no_picture_is_no_photo(desk: Desk) -> None:
    work = desk.begun("drawing_table.csv")
    desk.get(f"{work}/verdict")
    for content in (b"<svg onload=alert(1)>", b"<html>", b"GIF", b"MZ"):
        answer = desk.send(f"{work}/keep", {"go": "later"}, [("photos", ("seal.png", content))])
        assert code_of(answer) == 422
    assert desk.house.drafts.all()[0].photos == ()


def test_a_photo_is_shown_as_a_picture_and_as_nothing_else(desk: Desk) -> None:
    work = desk.begun("drawing_table.csv")
    desk.get(f"{work}/verdict")
    trick = b"GIF89a<script>alert(1)</script>"
    desk.send(f"{work}/keep", {"go": "later"}, [("photos", ("x.html", trick))])
    (photo,) = desk.house.drafts.all()[0].photos
    answer = desk.ask("GET", f"{work}/photo/{photo.sha256}")
    assert answer.headers["content-type"] == "image/gif"
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_scripts_in_any_field_are_shown_as_text(desk: Desk) -> None:
    """Names of records and photos, every field of every form, notes, names of cards: on every page that shows them."""
    desk.get("/")
    above, heads, *rows = (SAMPLES / "drawing_table.csv").read_text(encoding="utf-8").splitlines()
    record = "\n".join([above + ATTACK, f"{heads},{ATTACK}", *(f"{row},1" for row in rows)]).encode()
    desk.send("/begin", {}, [("records", (ATTACK + ".csv", record))])
    (draft,) = desk.house.drafts.all()
    work = f"/draft/{draft.id}"
    pages = [desk.get("/"), desk.get(f"{work}/record")]
    for step, field in (
        ("record", "columns.force"),
        ("unit", "damper.serial"),
        ("car", "vehicle.name"),
        ("inspection", "inspection.notes"),
    ):
        pages += [desk.send(f"{work}/{step}", {field: ATTACK}), desk.get(f"{work}/{step}")]
    desk.send(f"{work}/record", {"columns.force": ""})
    desk.send(f"{work}/car", {"vehicle.name": ""})
    pages.append(desk.send(f"{work}/unit/library", {"name": ATTACK, "why": ATTACK}))
    pages.append(desk.get(f"{work}/verdict"))
    assert 'id="verdict"' in pages[-1].text
    said = {name: ATTACK for name in ("serial", "job", "customer", "technician", "note")}
    png = b"\x89PNG\r\n\x1a\n"
    pages.append(desk.send(f"{work}/keep", {**said, "go": "later"}, [("photos", (ATTACK, png))]))
    pages.append(desk.send(f"{work}/keep", {**said, "go": "keep"}))
    assert "Entry 1" in pages[-1].text
    pages.append(
        desk.send(
            "/book/1/put-right",
            {**{n: ATTACK for n in NAMES if not n.startswith("tested")}, "why": ATTACK, "who": ATTACK},
        )
    )
    pages += [desk.get(path) for path in ("/book", "/library", "/figures", "/benches", "/book/1", "/book/1/print")]
    pages += [
        desk.ask("GET", path, params={"serial": ATTACK, "words": ATTACK, "kind": "unit-type", "name": ATTACK})
        for path in ("/unit", "/book", "/card")
    ]
    for page in pages:
        assert "<script>alert" not in page.text, page.url
        assert "<img src=x" not in page.text, page.url
        assert page.status_code < 500, page.url


def test_what_swells_when_it_is_unpacked_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The gate's limit, made small; the worker reads every record through it."""
    monkeypatch.setenv(UNPACKED.variable, "1000000")
    sheet = io.BytesIO()
    with zipfile.ZipFile(sheet, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("[Content_Types].xml", "<Types/>")
        packed.writestr("xl/workbook.xml", "<workbook/>")
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 3_000_000)
    for name, content in (("bomb.csv.gz", gzip.compress(b"0,0\n" * 1_000_000)), ("bomb.xlsx", sheet.getvalue())):
        (tmp_path / name).write_bytes(content)
        found = understand([(name, str(tmp_path / name))], "")
        assert "more than 1000000 bytes unpacked" in found["error"]["found"], name


def test_from_the_network_it_takes_the_code(tmp_path: Path, workers: Workers) -> None:
    house = house_in(tmp_path, workers, "abcde-fghjk")
    desk = Desk(house)
    assert desk.ask("GET", "/").headers["location"] == "/door"
    assert code_of(desk.ask("GET", "/events")) == 403
    assert code_of(desk.ask("POST", "/begin", data={"pasted": "x"}, headers={"origin": HERE})) == 403
    assert not desk.cookies
    assert code_of(desk.send("/door", {"code": "abcde-fghjx"})) == 403
    assert "At the bench" in words(desk.send("/door", {"code": " ABCDEFGHJK "}))
    stolen = Desk(house_in(tmp_path, workers, "zzzzz-zzzzz"))
    stolen.cookies = desk.cookies
    assert stolen.ask("GET", "/").headers["location"] == "/door"
    here = Desk(house_in(tmp_path, workers))
    here.get("/")
    stranger = Desk(house)
    stranger.cookies = here.cookies
    assert stranger.ask("GET", "/").headers["location"] == "/door"


def test_wrong_codes_are_few(tmp_path: Path, workers: Workers) -> None:
    house, now = house_in(tmp_path, workers, "abcde-fghjk"), [1000.0]
    house.door.clock = lambda: now[0]
    desk, other = Desk(house, "192.0.2.7"), Desk(house, "192.0.2.8")
    assert [code_of(desk.send("/door", {"code": "x"})) for _ in range(GUESSES + 1)] == [403] * GUESSES + [429]
    assert code_of(desk.send("/door", {"code": "abcde-fghjk"})) == 429
    assert code_of(other.send("/door", {"code": "abcde-fghjk"})) == 200
    now[0] += PAUSE_S + 1
    assert code_of(desk.send("/door", {"code": "abcde-fghjk"})) == 200


def test_a_session_ends(desk: Desk) -> None:
    now = [0.0]
    desk.house.door.clock = lambda: now[0]
    session = desk.house.door.session()
    assert desk.house.door.knows(session)
    bare, _, signature = session.rpartition(".")
    number, _, end = bare.partition(".")
    assert not desk.house.door.knows(f"{number}.{int(end) + 1}.{signature}")
    assert not desk.house.door.knows("")
    now[0] = float(end) + 1
    assert not desk.house.door.knows(session)
