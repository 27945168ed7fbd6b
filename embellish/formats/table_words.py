"""What a checked table finds wrong, as one sentence: pydantic's findings in a maker's words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from embellish.formats.nearest import close_to, nearest
from embellish.formats.value_words import either_of, limit_words, number_cure, range_mend, shown

UNKNOWN: Final = "extra_forbidden"

Steps = tuple[int | str, ...]


@dataclass(frozen=True)
class Wrong:
    """The first thing that is wrong with a table.

    Parameters
    ----------
    steps
        The keys and indices that lead to it.
    words, mend
        What is wrong, and what to do.
    unknown
        The key that is not known, where that is what is wrong; then words and mend are empty.
    """

    steps: Steps
    words: str = ""
    mend: str = ""
    unknown: str | None = None


def first_wrong(
    wrong: ValidationError, given: Mapping[str, Any], model: type[BaseModel], within: str = ""
) -> Wrong:
    """Return the first thing wrong; of the kinds that a union tries, the one that was meant.

    Parameters
    ----------
    wrong, given, model
        What pydantic found in a table that was to be a model.
    within
        The table's own name in the file, '' for the whole file.
    """
    every = [_Error.of(each, given) for each in wrong.errors(include_url=False)]
    first = min(every, key=lambda each: each.type != UNKNOWN)
    if first.type == UNKNOWN:
        return Wrong(first.steps[:-1], unknown=str(first.steps[-1]))
    if first.is_key:
        key = str(first.steps[-1])
        return Wrong(first.steps[:-1], f"unknown key '{key}'", nearest(key, _options([first])))
    together = _meant(first, every)
    steps = together[0].steps
    if together[0].type == "missing" and steps and isinstance(steps[-1], int):
        # A list that is too short misses its last entries.
        alike = [each.steps[-1] for each in every if each.steps[:-1] == steps[:-1]]
        count = 1 + max(step for step in alike if isinstance(step, int))
        words = f"takes {count} entries, not {steps[-1]}"
        return Wrong(steps[:-1], words, f"Give {count} entries.")
    path = [step for step in (within, *steps) if isinstance(step, str) and step]
    key = str(steps[-1]) if steps and isinstance(steps[-1], str) else ""
    words, mend = _words(together, annotation_parts(model, together[0].loc), key, ".".join(path))
    return Wrong(steps, words, mend)


def _meant(first: _Error, every: list[_Error]) -> list[_Error]:
    """Return what is wrong with the kind of a union that was meant, or with all at one place."""
    at = first.branch
    if at is None:
        return [first]
    rest = [each for each in every if each.branch == at and each.steps[:at] == first.steps[:at]]
    # What was found wrong deepest inside came nearest to being right.
    deepest = max(len(each.steps) for each in rest)
    together = [each for each in rest if len(each.steps) == deepest]
    # A number out of range was meant as a number, whatever else could stand there.
    return [each for each in together if each.type not in _EXPECTED][:1] or together


@dataclass(frozen=True)
class _Error:
    """One of pydantic's findings; ``branch`` is where in its steps a union began, if one did."""

    type: str
    loc: Steps
    steps: Steps
    branch: int | None
    is_key: bool
    input: Any
    context: Mapping[str, Any]
    message: str

    @classmethod
    def of(cls, error: Any, given: Mapping[str, Any]) -> _Error:
        steps: list[int | str] = []
        branch, here = None, given
        is_key = bool(error["loc"]) and error["loc"][-1] == "[key]"
        for index, part in enumerate(error["loc"]):
            last = index == len(error["loc"]) - 1
            if _leads_on(here, part):
                steps.append(part)
                here = here[part]
            elif last and error["type"] in ("missing", UNKNOWN):
                steps.append(part)
            elif not (last and is_key) and branch is None:
                branch = len(steps)
        context = error.get("ctx", {})
        kind, loc, told = error["type"], error["loc"], str(error["msg"])
        return cls(kind, loc, tuple(steps), branch, is_key, error["input"], context, told)


def _leads_on(here: Any, part: int | str) -> bool:
    if isinstance(here, Mapping):
        return part in here
    return isinstance(here, (list, tuple)) and isinstance(part, int) and part < len(here)


def annotation_parts(model: type[BaseModel], steps: Steps) -> list[Any]:
    """Return what the annotation of a field is made of, its limits among it ([] if lost)."""
    parts: list[Any] = [model]
    for step in steps:
        if isinstance(step, int):
            continue
        inner: list[Any] = []
        for each in parts:
            if isinstance(each, type) and issubclass(each, BaseModel):
                field = each.model_fields.get(step)
                inner += (
                    []
                    if field is None
                    else [*annotation_parts_of(field.annotation), *field.metadata]
                )
        # The keys of a table of values are the maker's own: what they lead to is in the parts.
        parts = inner or ([] if any(_is_model(each) for each in parts) else parts)
    return parts


def models_in(parts: Iterable[Any]) -> list[type[BaseModel]]:
    """Return the models among the parts of an annotation."""
    return [each for each in parts if _is_model(each)]


def _is_model(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, BaseModel)


def annotation_parts_of(annotation: Any) -> list[Any]:
    """Return an annotation, what it is made of, and the limits set on these."""
    parts = [annotation]
    for part in getattr(annotation, "__args__", ()):
        parts.extend(annotation_parts_of(part))
    for extra in getattr(annotation, "__metadata__", ()):
        parts.extend(extra.metadata if isinstance(extra, FieldInfo) else [extra])
    return parts


_EXPECTED: Final = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "tuple_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "literal_error": "",
}
"""Kinds of findings that say another kind of value was expected, and which."""

_NUMBERS: Final = {"float_type", "int_type", "int_from_float"}


def _options(errors: Iterable[_Error]) -> list[str]:
    """Return the words (or numbers) that may stand there."""
    told = " ".join(str(e.context.get("expected", "")) for e in errors if e.type == "literal_error")
    return re.findall(r"'([^']*)'", told) or re.findall(r"-?\d+", told)


def _words(errors: list[_Error], parts: list[Any], key: str, path: str) -> tuple[str, str]:
    first = errors[0]
    if first.type == "missing":
        what = "table" if models_in(parts) else "key"
        return f"this {what} is missing", _addition(parts, key)
    if first.type == "value_error":
        cause = first.context.get("error")
        message = str(cause) if cause else first.message.removeprefix("Value error, ")
        return message[:1].lower() + message[1:], getattr(cause, "mend", "")
    if first.type not in _EXPECTED:
        words, mend = limit_words(first.type, first.context, first.input)
        return words, mend or range_mend(parts)
    if first.type == "float_type" and type(first.input) is int:
        return "has too many digits", range_mend(parts)
    options = _options(errors)
    wanted = [name if name.lstrip("-").isdigit() else f"'{name}'" for name in options]
    wanted += [_EXPECTED[each.type] for each in errors if _EXPECTED[each.type]]
    kinds = {each.type for each in errors}
    mend = _WrongKind(first.input, kinds, options, key, path, bool(models_in(parts))).cure
    if kinds <= _NUMBERS and not isinstance(first.input, str):
        mend = range_mend(parts)
    return f"must be {either_of(wanted)}, not {shown(first.input)}", mend


@dataclass(frozen=True)
class _WrongKind:
    """A value of a kind that cannot stand where it does."""

    value: Any
    kinds: set[str]
    options: list[str]
    key: str
    path: str
    of_tables: bool
    """Whether what should stand there holds tables."""

    @property
    def cure(self) -> str:
        """What to write instead."""
        if isinstance(self.value, str):
            return self._of_text() or self._of_any()
        if isinstance(self.value, (Mapping, tuple)):
            return self._of_many() or self._of_any()
        return self._of_any()

    def _written(self, value: str) -> str:
        return f"{self.key} = {value}" if self.key else value

    def _of_text(self) -> str:
        text = str(self.value)
        close = close_to(text, self.options)
        if close == text:
            return f"Write {self._written(text)}, without quotes."
        if close:
            return f"Did you mean '{close}'?"
        if self.kinds & _NUMBERS:
            return number_cure(text, self.key, whole="float_type" not in self.kinds)
        if "tuple_type" in self.kinds and not _SIZE.fullmatch(text):
            entry = f'["{text[:40]}"]'
            return f"Write {self._written(entry)}."
        return ""

    def _of_many(self) -> str:
        is_table = isinstance(self.value, Mapping)
        if "tuple_type" in self.kinds and is_table and self.of_tables:
            return f"Write [[{self.path}]], with double brackets."
        if "model_type" in self.kinds and not is_table and self.key:
            return f"Write [{self.path}], with single brackets."
        return "Write one text in quotes." if self.kinds == {"string_type"} else ""

    def _of_any(self) -> str:
        kinds, options = self.kinds, self.options
        quoted = [name if name.isdigit() else f'"{name}"' for name in options]
        if kinds & _NUMBERS:
            quoted.append("a whole number" if "float_type" not in kinds else "a number")
        if "bool_type" in kinds:
            quoted += ["true", "false"]
        plain = f"{self.value}" if type(self.value) is int else shown(self.value)
        text = f'"{plain.removeprefix("the date or time ")}"'
        cures = (
            (len(options) > 1, "Take one of them."),
            (bool(quoted), f"Write {self._written(either_of(quoted))}."),
            (kinds == {"string_type"}, f"Write it in quotes: {self._written(text)}."),
            ("string_type" in kinds, "Write a name in quotes, or a list in square brackets."),
            ("tuple_type" in kinds, f"Write {self._written('[…]')}, in square brackets."),
            ("." not in self.path and bool(self.key), f"Write [{self.path}], its keys below it."),
        )
        return next((cure for applies, cure in cures if applies), "Write it in braces, { … }.")


_SIZE: Final = re.compile(r"\s*[\d.,]+\s*\S\s*[\d.,]+.*")


def _addition(parts: list[Any], key: str) -> str:
    """Return what to add where a key is missing."""
    many = any(getattr(part, "__origin__", None) is tuple for part in parts)
    options = [
        f"{arg}" if isinstance(arg, int) else f'"{arg}"'
        for part in parts
        for arg in getattr(part, "__args__", ())
        if isinstance(arg, (str, int))
    ]
    if models_in(parts):
        return f"Add a table [[{key}]]." if many else f"Add a table [{key}]."
    if options:
        return f"Add {key} = {either_of(options)}."
    if many:
        return f"Add {key} = […]."
    return f"Add {key} = a number." if float in parts or int in parts else f'Add {key} = "…".'
