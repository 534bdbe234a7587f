"""A declared file as a form: a field a key, with what the described models say of it; what was typed as TOML, and back."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from functools import cache
from typing import Any

from pydantic import ValidationError

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.drafts import Draft
from dampkit.app.serve.told import in_fields, on_page, words_of
from dampkit.app.serve.typed import SEVERAL, columns_of, shown, value_of
from dampkit.bench.described import PLAIN_NUMBER
from dampkit.bench.keys import ANY_NAME, EACH, Key, keys_of
from dampkit.bench.sense import doubt
from dampkit.bench.template import KIND_KEYS, Blank
from dampkit.bench.toml_errors import Written, problems_of
from dampkit.bench.written import written_into
from dampkit.frozen import frozen
from dampkit.job import MODELS, model_of
from dampkit.outcome.published import NAMES, keys
from dampkit.store.bench_record import CalibrationSpec
from dampkit.store.build_record import WorkSpec

Place = tuple[str, ...]
LONGEST = 2000  # letters of one answer
SHEETS: dict[str, Any] = {"calibration": CalibrationSpec, "work": WorkSpec}  # what is kept with a bench or an entry
LABELS = {"on": "Day", "by": "Who did it", "due": "Next due"}  # of keys that say too little by themselves
OPTIONAL = tuple(kind for kind in MODELS if kind != "bench")  # with nothing filled in there is nothing wrong


@frozen
class Field:
    """`value` as it stands in the file or was typed, `error` what is wrong with it, `doubt` what is seldom right."""

    key: Key
    value: str
    error: str = ""
    doubt: str = ""
    needed: bool = False
    columns: tuple[Key, ...] = ()  # of a table with a row a line

    @property
    def name(self) -> str:
        return ".".join(self.key.place)

    @property
    def id(self) -> str:
        return "f-" + self.name.replace(".", "-")

    @property
    def label(self) -> str:
        """The key in words, its unit apart."""
        return LABELS.get(self.key.name, words_of(self.key.name).capitalize())

    @property
    def row(self) -> str:
        """What stands in a row, in its order."""
        return ", ".join(
            f"{words_of(key.name)} ({key.unit})" if key.unit else words_of(key.name) for key in self.columns
        )

    @property
    def unit(self) -> str:
        return "" if self.key.unit == PLAIN_NUMBER else self.key.unit

    @property
    def form(self) -> str:
        if len(self.key.choices) > 1:
            return "choice"
        if self.key.form in SEVERAL:
            return "lines"
        return "yes or no" if self.key.form == "yes or no" else "row" if self.key.form.startswith("list") else "text"

    @property
    def is_number(self) -> bool:
        return self.key.form in ("number", "whole number")

    @property
    def example(self) -> str:
        if self.columns and self.key.example is None:
            return " ".join(shown(key.example) for key in self.columns)
        return shown(self.key.example, self.columns)

    @property
    def about(self) -> str:
        """What it means, and what is usual; its bounds where nothing is."""
        low, high = self.key.usual or (None, None)
        bounds = f"Usually {low:g} to {high:g}" if low is not None else self.key.range.capitalize()
        said = in_fields(self.key.description)
        return said if bounds in ("", "Any number") else f"{said} {bounds} {self.unit}".strip() + "."

    @property
    def how(self) -> str:
        return in_fields(on_page(self.key.how_to_measure))


@frozen
class Section:
    """`unless` names the section that may stand in its place; one without a field is a choice of kind alone."""

    place: Place
    about: str
    fields: tuple[Field, ...]
    open: bool

    @property
    def title(self) -> str:
        inside = self.place[1:] if len(self.place) > 1 and self.place[0] in SHEETS else self.place
        return (", ".join(inside) or "in general").replace("_", " ").capitalize()


@frozen
class Form:
    """`errors` are those that belong to no field; `kept` counts what the file holds beside the fields."""

    file: str
    sections: tuple[Section, ...]
    errors: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    kept: int = 0
    text: str = ""
    wrong: bool = field(default=False)


@cache
def keys_in(file: str) -> tuple[Key, ...]:
    return keys(file) if file in NAMES else keys_of(SHEETS[file].model_json_schema())


def names(file: str) -> frozenset[str]:
    """The names of all fields that a form of this file can have; nothing else is taken from a browser."""
    return frozenset(".".join(key.place) for key in _askable(file))


def _askable(file: str) -> Iterator[Key]:
    return (key for key in keys_in(file) if _shown(key, file) and ANY_NAME not in key.place)


def typed_in(sent: Mapping[str, str], file: str) -> dict[str, str]:
    """What a browser sent of the fields of a form."""
    return {name: text.strip()[:LONGEST] for name, text in sent.items() if name in names(file)}


def sheet(file: str, base: str, typed: Mapping[str, str] | None = None) -> Draft:
    """A form that belongs to no piece of work: what stands there, and what was typed over it."""
    return Draft("", "", "", base={file: base} if base else {}, filled={file: typed} if typed else {})


def blank(file: str, base: str) -> Form:
    """A sheet that nobody has sent yet: what is not filled in is not wrong yet."""
    form = form_of(sheet(file, base), file)
    calm = (replace(one, fields=tuple(replace(field, error="") for field in one.fields)) for one in form.sections)
    return replace(form, wrong=False, sections=tuple(calm))


def without(form: Form, name: str) -> Form:
    """The form less one of its fields."""
    sections = (
        replace(one, fields=tuple(field for field in one.fields if field.name != name)) for one in form.sections
    )
    return replace(form, sections=tuple(sections))


def sent_form(asked: Asked, file: str, base: str = "", more: Mapping[str, str] | None = None) -> Form:
    """What stood there with what was typed over it, and `more`; its `text` is the file."""
    return form_of(sheet(file, base, {**typed_in(asked.sent, file), **(more or {})}), file)


def toml_of(draft: Draft, file: str) -> str:
    """What is declared: the text it began with, and what was typed over it."""
    base, typed = draft.base.get(file, ""), draft.filled.get(file, {})
    if not typed:
        return base
    by_name = {".".join(key.place): key for key in _askable(file)}
    sections: dict[Place, dict[str, Any]] = {}
    drop = [by_name[name].place for name, text in typed.items() if name in by_name and not text.strip()]
    for name, text in typed.items():
        if name in by_name and text.strip():
            key = by_name[name]
            value = value_of(text.strip(), key, columns_of(key, keys_in(file)))
            sections.setdefault(key.place[:-1], {})[key.name] = value
    text = written_into(base, sections, drop=[place for place in drop if _stands(base, place)])
    return "" if not text.strip() else text


def _stands(text: str, place: Place) -> bool:
    here: Any = tomllib.loads(text)
    for part in place:
        if not isinstance(here, Mapping) or part not in here:
            return False
        here = here[part]
    return True


def form_of(draft: Draft, file: str, extra_kinds: tuple[str, ...] = ()) -> Form:
    """The form as it stands, with everything that is wrong in it said beside its field."""
    text = toml_of(draft, file)
    data = tomllib.loads(text) if text else {}
    typed = draft.filled.get(file, {})
    wrong, others = _wrong(file, data, text)
    blank = Blank(file, keys_in(file), (*_kinds(file, data), *extra_kinds))
    asked = {key.place: key for key in (*(key for key in blank.wanted if _shown(key, file)), *_kind_keys(file))}
    order = {key.place: i for i, key in reversed(list(enumerate(keys_in(file))))}
    fields = [_field(asked[place], data, typed, wrong, blank) for place in sorted(asked, key=lambda at: order[at])]
    places = dict.fromkeys(found.key.place[:-1] for found in fields)
    about = {key.place: key.description for key in keys_in(file) if key.is_table}
    sections = tuple(
        Section(place, in_fields(about.get(place, "")), inside, any(f.value or f.error or f.needed for f in inside))
        for place in places
        if (inside := tuple(found for found in fields if found.key.place[:-1] == place))
    )
    known = {found.name for found in fields}
    kept = sum(".".join(place) not in known for place in _places(data, ()))
    doubts = tuple(f"{found.label}: {found.doubt}" for found in fields if found.doubt)
    return Form(file, sections, others, doubts, kept, text, bool(wrong or others))


def _shown(key: Key, file: str) -> bool:
    """A value, or a table that can be typed with a row a line."""
    return EACH not in key.place and (not key.is_table or bool(columns_of(key, keys_in(file))))


def _kinds(file: str, data: Mapping[str, Any]) -> tuple[str, ...]:
    """The kinds that the file names, and those of its tables that may be one of several."""
    found = []
    for key in _askable(file):
        if key.name in KIND_KEYS:
            value = _at(data, key.place)
            found += [value] if isinstance(value, str) else []
    return tuple(dict.fromkeys(found))


def _field(
    key: Key, data: Mapping[str, Any], typed: Mapping[str, str], wrong: Mapping[str, str], blank: Blank
) -> Field:
    name, value = ".".join(key.place), _at(data, key.place)
    columns = columns_of(key, keys_in(blank.file))
    text = typed.get(name, shown(value, columns))
    several = value if isinstance(value, list) else [value]
    numbers = [one for one in several if isinstance(one, int | float) and not isinstance(one, bool)]
    asked = next((said for one in numbers if (said := doubt(float(one), key.unit, key.usual, key.odd))), "")
    return Field(key, text, wrong.get(name, ""), "" if name in wrong else asked, key in blank.asked, columns)


def _kind_keys(file: str) -> Iterator[Key]:
    """The choice of kind of each table that comes in several, with all of them to choose from."""
    for table in keys_in(file):
        if table.variants and EACH not in table.place and not table.form.startswith("list"):
            key = next(one for one in keys_in(file) if one.place == (*table.place, "kind"))
            yield replace(key, choices=table.variants, variant="", example=None)


def _at(data: Mapping[str, Any], place: Place) -> Any:
    here: Any = data
    for part in place:
        if not isinstance(here, Mapping) or part not in here:
            return None
        here = here[part]
    return here


def _at_field(place: tuple[str | int, ...], known: frozenset[str]) -> tuple[str, int | None]:
    """The name of the field that a problem is in, and the row of it, counted from 0."""
    row = next((part for part in place if isinstance(part, int)), None)
    words = [part for part in place if isinstance(part, str)]
    inside = [".".join(words[:n]) for n in range(len(words), 0, -1)]
    return next((name for name in inside if name in known), inside[0] if inside else ""), row


def _wrong(file: str, data: Mapping[str, Any], text: str) -> tuple[dict[str, str], tuple[str, ...]]:
    """What the model has against it, by the name of the field; and what belongs to none."""
    model = SHEETS.get(file) or model_of(file)
    if not text and file in OPTIONAL:
        return {}, ()
    try:
        model.model_validate(data)
    except ValidationError as error:
        by_field: dict[str, str] = {}
        others = []
        known = names(file)
        for problem in problems_of(Written(data, text), model, error):
            name, row = _at_field(problem.place, known)
            missing = problem.found == "this is missing"
            expected = "one value for each column" if problem.expected.startswith("a section") else problem.expected
            said = "This is needed." if missing else f"{problem.found.capitalize()}; expected {expected}."
            said = f"Row {row + 1}: {said}" if row is not None else said
            if name in known:
                by_field.setdefault(name, said)
            else:
                others.append(f"{name}: {said}" if name else said)
        return by_field, tuple(others)
    return {}, ()


def _places(data: Mapping[str, Any], above: Place) -> Iterator[Place]:
    for name, value in data.items():
        if isinstance(value, Mapping):
            yield from _places(value, (*above, name))
        else:
            yield (*above, name)
