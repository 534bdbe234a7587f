"""The guide holds what it promises: every topic, every link, every code, and nothing that differs from the package."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import dampkit
from dampkit.app.commands import COMMANDS
from dampkit.app.main import run_command
from dampkit.faults.causes import CAUSES
from dampkit.guide.faults_text import LIMITS
from dampkit.guide.made import MADE
from dampkit.guide.page import guide_page
from dampkit.guide.plain import WIDEST, markdown, plain
from dampkit.guide.topics import NAMES, Topic, topic
from dampkit.outcome.published import keys
from dampkit.report.fault_words import MEASURES
from dampkit.report.faults_told import TOLD
from dampkit.report.quality_words import QUALITIES
from dampkit.sources import SOURCES
from tests.guide.blocks import WRITTEN

PACKAGE = Path(dampkit.__file__).parent
TOPICS = [topic(name) for name in NAMES]
Capture = pytest.CaptureFixture[str]
SEVERITIES = {"note", "warning", "bad"}


def test_every_topic_is_in_a_chapter_once() -> None:
    assert sorted([*WRITTEN, *MADE]) == sorted(NAMES)


@pytest.mark.parametrize("one", TOPICS, ids=lambda one: one.name)
def test_a_topic_has_one_title_one_sentence_and_links_that_lead_somewhere(one: Topic) -> None:
    tokens = markdown().parse(one.text)
    assert [t.tag for t in tokens if t.type == "heading_open"].count("h1") == 1
    assert tokens[0].tag == "h1"
    assert one.said.endswith(".")
    assert "**" not in one.said
    links = [c.attrGet("href") for t in tokens for c in t.children or () if c.type == "link_open"]
    assert set(links) <= set(NAMES)
    assert not [t for t in tokens if t.type.startswith("html")]


@pytest.mark.parametrize("name", WRITTEN)
def test_a_written_topic_is_short_and_names_what_there_is(name: str) -> None:
    text = topic(name).text
    assert len(text.split()) < 800
    for words in re.findall(r"`dampkit ([a-z]\S*?)[ `]", text) + re.findall(r"^\$ dampkit (\S+)", text, flags=re.M):
        assert words in COMMANDS
    assert set(re.findall(r"\[([a-z]+_?[a-z]*\d{2,}[a-z]*)\]", text)) <= set(SOURCES)


def test_the_method_names_sources_that_exist() -> None:
    named = re.findall(r"\[([a-z0-9_]+)\](?!\()", topic("method").text)
    assert len(named) > 30
    assert set(named) <= set(SOURCES)


def test_a_written_topic_is_read_without_the_heavy_libraries() -> None:
    code = "import sys; from dampkit.app.main import run_command; run_command(['guide', 'page']); print(sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "'markdown_it'" in done.stdout
    assert not [name for name in ("numpy", "scipy", "pandas", "plotly") if f"'{name}'" in done.stdout]


def test_keys_that_the_written_topics_name_exist() -> None:
    known = {key.name for kind in ("bench", "damper", "vehicle", "inspection", "costs", "stock") for key in keys(kind)}
    text = "\n".join(topic(name).text for name in WRITTEN)
    for table, name in re.findall(r"`\[(\w+)\] (\w+)(?: = [^`]*)?`", text):
        assert {table, name} <= known


def test_every_heading_of_the_page_topic_stands_on_the_page() -> None:
    template = (PACKAGE / "report/templates/page.html").read_text(encoding="utf-8")
    on_page = re.findall(r'<h2 id="\w+">(?:<span[^>]*>Verdict</span>)?([^<{]*)', template)
    named = [heading for heading, _ in topic("page").parts()]
    ours = {"The verdict", "Again, without the log"}
    assert set(named) - ours <= {heading.strip() for heading in on_page}
    assert len(named) > 7


def test_plain_text_keeps_to_the_width_and_loses_no_word() -> None:
    for one in TOPICS:
        lines = plain(one.text, 80).splitlines()
        long = [
            line for line in lines if len(line) > WIDEST and not line.startswith("    ") and "  " not in line.strip()
        ]
        assert not [line for line in long if " " in line.strip()], one.name
        words = set(re.findall(r"\w+", one.text))
        assert words - set(re.findall(r"\w+", " ".join(lines))) <= {"console", "python", "toml"}, one.name


def test_a_link_says_how_to_read_on_and_a_list_stays_a_list() -> None:
    text = plain("# A\n\nSee [there](page).\n\n1. one\n2. two\n   - inner\n\n| a | b |\n|---|---|\n| 1 | 22 |\n", 60)
    assert text.splitlines() == [
        "A", "=", "", "See there (dampkit guide page).", "", "1. one", "2. two", "   - inner", "",
        "a  b", "-  --------------------", "1  22",
    ]  # fmt: skip


def test_the_command_lists_shows_and_offers_near_names(capsys: Capture) -> None:
    assert run_command(["guide"]) == 0
    listed = capsys.readouterr().out
    assert all(f"  {name}" in listed for name in NAMES)
    assert run_command(["guide", "oil-level"]) == 0
    assert capsys.readouterr().out.startswith("Oil level, bubbles, trapped air\n=====")
    for code in ("low_oil", "zero_unknown"):
        assert run_command(["guide", code]) == 0
        assert f"`{code}`" in capsys.readouterr().out
    assert run_command(["guide", "lever_arm"]) == 2
    assert "perhaps lever-arms" in capsys.readouterr().err
    assert run_command(["guide", "asbestos"]) == 2
    assert re.search(r"the words stand in .*friction-discs", capsys.readouterr().err)
    assert run_command(["guide", "qqqq"]) == 2
    assert "see  dampkit guide" in capsys.readouterr().err


def test_the_page_is_whole_asks_for_nothing_and_every_link_in_it_leads_somewhere(tmp_path: Path) -> None:
    page = tmp_path / "guide.html"
    assert run_command(["guide", "--html", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert text == guide_page()
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r' href="#([^"]+)"', text)) <= set(ids)
    assert not re.findall(r'(?:src|href)="(?!#)', text)
    assert {*NAMES} <= {*ids}


def test_the_kept_page_has_every_topic() -> None:
    kept = (PACKAGE.parent / "reports/guide.html").read_text(encoding="utf-8")
    assert set(NAMES) <= set(re.findall(r'<section id="([^"]+)"', kept)), "dampkit guide --html reports/guide.html"


def test_the_guide_has_every_key_and_every_code() -> None:
    for kind in ("bench", "damper", "vehicle", "inspection", "costs", "stock", "result"):
        text = topic(f"keys-{kind}").text
        assert all(
            f"{key.name}`" in text or f"{key.name}]" in text
            for key in keys(kind)
            if kind == "result" or not key.is_table
        )
    headings = [heading for heading, _ in topic("fault-codes").parts()]
    assert set(headings) - {"Limits by kind"} == set(TOLD)


def test_limits_are_those_of_the_fault_room() -> None:
    """Every measure that a cause names has its limit, on the basis that the code which makes the measure gives it."""
    named = {key.rstrip("+-") for cause in CAUSES for key in (*cause.moves, *cause.expects)}
    assert named <= set(LIMITS) <= set(MEASURES)
    given = dict(_bases())
    assert len(given) > 20
    assert {key: LIMITS[key].basis for key in given if LIMITS[key].basis is not None} == {
        key: basis for key, basis in given.items() if LIMITS[key].basis is not None
    }


def _bases() -> Iterator[tuple[str, str]]:
    """Key and basis of each measure that the fault room makes, where both stand there as words."""
    for call in _calls(PACKAGE / "faults"):
        words = [a.value for a in call.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]
        bases = [w for w in words if w in {limit.basis for limit in LIMITS.values()}]
        if getattr(call.func, "id", "") == "Measure" and words and words[0] in LIMITS and bases:
            yield words[0], bases[0]


def test_every_remark_of_the_package_has_its_words_and_no_other() -> None:
    made = list(_remarks())
    assert len(made) > 60
    unsaid = [code for code, _ in made if not any(re.fullmatch(code, known) for known in QUALITIES)]
    assert not unsaid, "give them words in report/quality_words.py"
    assert not [known for known in QUALITIES if not any(re.fullmatch(code, known) for code, _ in made)]
    for code, severity in made:
        told = [QUALITIES[known].severity for known in QUALITIES if re.fullmatch(code, known)]
        assert severity is None or all(severity in words for words in told), code


def _remarks() -> Iterator[tuple[str, str | None]]:
    """Pattern of the code and severity, where it is one, of every remark that any code of the package makes."""
    for node in _nodes(PACKAGE):
        parts: list[ast.expr] = []
        if isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) in (
            "Quality",
            "noticed",
        ):
            parts = node.args
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "_warning":
            parts = [*node.args[:1], ast.Constant("warning")]
        elif isinstance(node, ast.Tuple) and len(node.elts) == 3:
            codes = [e.value for e in node.elts if isinstance(e, ast.Constant)]
            parts = node.elts if codes[1:] and codes[1] in SEVERITIES and codes[0] not in SEVERITIES else []
        if len(parts) > 1 and isinstance(parts[0], ast.Constant | ast.JoinedStr):
            severity = parts[1].value if isinstance(parts[1], ast.Constant) else None
            yield _pattern(parts[0]), severity if isinstance(severity, str) else None


def _pattern(code: ast.Constant | ast.JoinedStr) -> str:
    if isinstance(code, ast.Constant):
        return re.escape(str(code.value))
    return "".join(re.escape(str(v.value)) if isinstance(v, ast.Constant) else r"\w+" for v in code.values)


def _nodes(folder: Path) -> Iterator[ast.AST]:
    for file in sorted(folder.rglob("*.py")):
        yield from ast.walk(ast.parse(file.read_text(encoding="utf-8")))


def _calls(folder: Path) -> Iterator[ast.Call]:
    return (node for node in _nodes(folder) if isinstance(node, ast.Call))


def test_remarks_of_a_stored_result_are_known() -> None:
    kept = Path(__file__).parents[1] / "outcome/kept/dampkit-result-1.json"
    codes = {remark["code"] for remark in json.loads(kept.read_text(encoding="utf-8"))["quality"]}
    assert codes <= set(QUALITIES)
