"""The verdict on a test, worked out in a worker: the result, and its page in the frame of this one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from dampkit.analyse import analyse_job
from dampkit.app.serve.told import error_of, without_commands
from dampkit.app.serve.understood import Records, read
from dampkit.bench.run import Quality
from dampkit.bench.test import read_test
from dampkit.errors import DampkitError
from dampkit.report.document import Look
from dampkit.report.page import render
from dampkit.store.content import sha256_of
from dampkit.store.settings import Settings

MOST_PAGES = 16  # held ready
LIBRARY = "/static/plotly.min.js"


def judge(records: Records, texts: Mapping[str, str], remarks: tuple[Quality, ...] = ()) -> dict[str, Any]:
    """`result` as it is stored, `page` in its parts and what names it; or `error`."""
    try:
        job = Settings(**texts).load()
        data = [read(place) for _, place in records]
        test = read_test(data, job.bench, names=[label for label, _ in records]).remarked(remarks)
        result = analyse_job(test, job).to_dict()
    except DampkitError as error:
        return {"error": error_of(error)}
    return {
        "result": result,
        "page": page_of(result),
        "sha256": [sha256_of(content) for content in data],
        "action": result["verdict"]["action"],
        "next_test": result["next_test"] is not None,
    }


def page_of(result: Mapping[str, Any]) -> dict[str, Any]:
    """The page of a result in the parts that the frame takes."""
    return parts_of(render(dict(result), Look(library=LIBRARY)))


def parts_of(whole: str) -> dict[str, Any]:
    """Head, what stands in it, foot, and the data of the pictures of a page of `report/`: text from outside is escaped
    there and holds none of its tags."""
    before, _, after = whole.partition("<main>")
    main, _, foot = after.rpartition("</main>")
    return {
        "error": None,
        "header": _between(before, "<header>", "</header>"),
        "main": without_commands(main),
        "footer": _between(foot, "<footer>", "</footer>"),
        "data": _between(foot, '<script type="application/json" id="picture-data">', "</script>"),
    }


@lru_cache(MOST_PAGES)
def kept_page(result: str) -> dict[str, Any]:
    """The page of a stored result, as JSON: made here, so that it need not wait for an analysis of another."""
    return page_of(json.loads(result))


def _between(page: str, start: str, end: str) -> str:
    return page.partition(start)[2].partition(end)[0]
