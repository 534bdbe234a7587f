"""`dampkit schema`: the form of the result, for other programs."""

from __future__ import annotations

from dampkit.app.say import say


def schema_command() -> None:
    import json

    from dampkit.outcome.result import json_schema

    say(json.dumps(json_schema(), indent=2))
