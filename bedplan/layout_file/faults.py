"""Faults of a file in the trade's words (layer: layout_file).

Pydantic says where a value broke which rule; a person wants to know what was read, what was
wanted and what to write instead. None of pydantic's own sentences gets through.

Public entry points: `schema_faults`, `nearest`, `unknown_name`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from bedplan.errors import Fault
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.quantities import spell
from bedplan.layout_file.schema import MARKS

_LISTED = 12
"""Up to so many known names are listed in a remedy."""

_WRONG_TYPE = {
    "string_type": ("a text in quotes", "put it in quotes"),
    "list_type": ("a list in square brackets", "put it in square brackets, [ … ]"),
    "dict_type": ("a table of keys", "write it as a table, { key = value, … }"),
    "model_type": ("a table of keys", "write it as a table, { key = value, … }"),
    "model_attributes_type": ("a table of keys", "write it as a table, { key = value, … }"),
    "bool_type": ("true or false", "write true or false, without quotes"),
    "union_tag_not_found": (
        'a point, [x, y] or { side = "AB", along = "5 ft", in = "3 ft" }',
        "write it as [x, y], or tie it to a side",
    ),
}


def schema_faults(
    errors: Sequence[ErrorDetails],
    model: type[BaseModel],
    line: Callable[[KeyPath], int],
) -> list[Fault]:
    """Return the faults of a file from what pydantic found wrong with it.

    Parameters
    ----------
    errors
        Pydantic's own list.
    model
        What the file was read as.
    line
        Gives the line of a key path. Numbers that lack only the file's `unit` are told once, at
        the first of them.
    """
    faults = [_fault(error, model) for error in errors if not _context(error).get("bare")]
    bare = sorted(
        (_fault(error, model) for error in errors if _context(error).get("bare")),
        key=lambda fault: line(fault.path),
    )
    if len(bare) > 1:
        got = f"{bare[0].got} (the first of {len(bare)} such numbers)"
        bare = [replace(bare[0], got=got)]
    return [*faults, *bare]


def key_path(error: ErrorDetails) -> KeyPath:
    """Return where an error stands, without the marks of a value's form."""
    return tuple(part for part in error["loc"] if part not in MARKS and part != "[key]")


def _context(error: ErrorDetails) -> Mapping[str, Any]:
    return error.get("ctx") or {}


def _fault(error: ErrorDetails, model: type[BaseModel]) -> Fault:
    path, kind, context = key_path(error), error["type"], _context(error)
    got = spell(error["input"])
    if kind == "fault":
        return Fault(path, context["got"], context["wanted"], context["remedy"])
    if kind == "extra_forbidden":
        return _unknown_key(path, known_keys(model, error["loc"][:-1]))
    if kind == "missing":
        return Fault(
            path,
            f"missing key {path[-1]!r}",
            f"the key {path[-1]!r} in this table",
            f"add a line {path[-1]} = …",
        )
    if kind == "literal_error":
        return _wrong_word(path, error, choices(model, error["loc"]))
    if kind in ("too_short", "too_long"):
        return _wrong_count(path, error)
    wanted, remedy = _WRONG_TYPE.get(
        kind, ("a value that fits this key", "see the key in the starter layout")
    )
    return Fault(path, got, wanted, remedy)


def _unknown_key(path: KeyPath, known: Collection[str]) -> Fault:
    key = str(path[-1])
    near = nearest(key, known)
    listed = ", ".join(sorted(known))
    if near:
        got = f"unknown key {key!r}; did you mean {near!r}?"
        return Fault(path, got, f"one of {listed}", f"write {near!r} instead, or take it out")
    return Fault(
        path, f"unknown key {key!r}", f"one of {listed}" if known else "no such key", "take it out"
    )


def _wrong_word(path: KeyPath, error: ErrorDetails, words: Sequence[object]) -> Fault:
    value = error["input"]
    listed = ", ".join(spell(word) for word in words)
    near = nearest(value, [str(word) for word in words]) if isinstance(value, str) else None
    remedy = f'write "{near}"' if near else f"write one of {listed}"
    return Fault(path, spell(value), f"one of {listed}" if len(words) > 1 else listed, remedy)


def _wrong_count(path: KeyPath, error: ErrorDetails) -> Fault:
    context = _context(error)
    least, most = context.get("min_length"), context.get("max_length")
    items = "item" if (least or most) == 1 else "items"
    wanted = f"at least {least} {items}" if least is not None else f"at most {most} {items}"
    return Fault(
        path,
        f"a list of {context.get('actual_length')}",
        wanted,
        "add what is missing" if least is not None else "take out what is too many",
    )


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like this one, or None if none is like it.

    Examples
    --------
    >>> nearest("widht", ["width", "kerf"]), nearest("CEDAR", ["cedar"]), nearest("x", ["width"])
    ('width', 'cedar', None)
    """
    by_lower = {name.lower(): name for name in known}
    found = get_close_matches(word.lower(), by_lower, n=1, cutoff=0.5)
    return by_lower[found[0]] if found else None


def unknown_name(path: KeyPath, kind: str, name: str, known: Collection[str]) -> Fault:
    """Return the fault of a name that nothing in the file or its price lists bears."""
    near = nearest(name, known)
    listed = ", ".join(known)
    wanted = (
        f"the name of a {kind}: {listed}" if 0 < len(known) <= _LISTED else f"the name of a {kind}"
    )
    hint = f"; did you mean {near!r}?" if near else ""
    remedy = (
        (f"write {near!r}, or define {name!r}" if near else f"define {name!r}, or name another")
        if kind not in ("side", "corner")
        else (f"write {near!r}" if near else "name one of these")
    )
    return Fault(path, f"unknown {kind} {name!r}{hint}", wanted, remedy)


@lru_cache(maxsize=4)
def _json_schema(model: type[BaseModel]) -> Mapping[str, Any]:
    return model.model_json_schema()


def known_keys(model: type[BaseModel], loc: Iterable[str | int]) -> tuple[str, ...]:
    """Return the keys a table may have, found by walking the model's own JSON Schema."""
    return tuple(key for node in _nodes(model, loc) for key in node.get("properties", {}))


def choices(model: type[BaseModel], loc: Iterable[str | int]) -> tuple[object, ...]:
    """Return the words a value may be."""
    return tuple(
        word
        for node in _nodes(model, loc)
        for word in node.get("enum", [node["const"]] if "const" in node else [])
    )


def _nodes(model: type[BaseModel], loc: Iterable[str | int]) -> list[Mapping[str, Any]]:
    schema = _json_schema(model)
    nodes = list(_forms(schema, schema))
    for part in loc:
        if part not in MARKS:
            nodes = [
                form
                for node in nodes
                for inner in _inner(node, part)
                for form in _forms(inner, schema)
            ]
    return nodes


def _inner(node: Mapping[str, Any], part: str | int) -> Iterator[Mapping[str, Any]]:
    if isinstance(part, int):
        inner = node.get("items")
    else:
        inner = node.get("properties", {}).get(part) or node.get("additionalProperties")
    if isinstance(inner, dict):
        yield inner


def _forms(node: Mapping[str, Any], schema: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Yield the node itself, or what it refers to, or each of its alternatives."""
    if "$ref" in node:
        yield from _forms(schema["$defs"][str(node["$ref"]).rpartition("/")[2]], schema)
        return
    alternatives = [
        form for key in ("anyOf", "oneOf") for form in node.get(key, ()) if "required" not in form
    ]
    if not alternatives:
        yield node
    for form in alternatives:
        yield from _forms(form, schema)
