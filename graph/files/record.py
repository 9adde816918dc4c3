"""Records that survive a round trip whole, also the parts that this version does not know.

A reel written by a later version, or touched by another program, must not lose
fields when it is opened and saved here. The JSON library drops what it has no field
for, so unknown fields are gathered into `other` on the way in and spread out again
on the way back. `other` itself is no field of the document: a document's own key of
that name is one more unknown field.
"""

import re
from collections.abc import Mapping
from functools import cache
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

from lamphouse.nodes.errors import BadInput, clause, stem

_ALWAYS_WRITTEN = "record"  # the label says which version wrote the document
_COMPLAINT = re.compile(r"(.*?)(?: - at `\$(.*)`)?", re.DOTALL)


class Record(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A frozen record. `other` holds the fields of the document that have no name here."""

    other: dict[str, Any] = {}


R = TypeVar("R", bound=msgspec.Struct)


def gather(document: object, kind: type[R]) -> R:
    """Return the record of class `kind` that a mapping read from JSON holds.

    Raises BadInput with the path of the first field that is missing or of the wrong type.
    """
    return _converted(_gathered(document, inspect.type_info(kind), ""), kind, "")


def spread(value: object) -> Any:
    """Return `value`, a record or what records hold, as mappings, lists and scalars for JSON.

    Fields stand in the order of the record, without those at their default, and then
    the unknown ones in the order they had.
    """
    if isinstance(value, Record):
        return _written_fields(value) | spread(value.other)
    if isinstance(value, Mapping):
        return {key: spread(member) for key, member in value.items()}
    if isinstance(value, list | tuple):
        return [spread(member) for member in value]
    return value


def every_field(record: Record) -> dict[str, Any]:
    """Return what `record` says for another program: also what is at its default, and the unknown fields."""
    names = (field.name for field in _fields(type(record)) if field.name != "other")
    return {**{name: spread(getattr(record, name)) for name in names}, **spread(record.other)}


_fields = cache(
    msgspec.structs.fields
)  # the library works them out anew, which takes longer than to write a cue


def _written_fields(record: Record) -> dict[str, Any]:
    values = ((field, getattr(record, field.name)) for field in _fields(type(record)))
    return {
        field.name: spread(value)
        for field, value in values
        if field.name != "other" and (field.name == _ALWAYS_WRITTEN or not _is_default(value, field))
    }


def _is_default(value: object, field: msgspec.structs.FieldInfo) -> bool:
    if field.default_factory is not msgspec.NODEFAULT:
        return bool(value == field.default_factory())
    return field.default is not msgspec.NODEFAULT and bool(value == field.default)


def _gathered(value: object, kind: inspect.Type, path: str) -> object:
    """Return `value` with every mapping that stands where `kind` has a record made that record."""
    match kind, value:
        case inspect.StructType(), dict():
            return _record(value, kind, path)
        case inspect.VarTupleType(), list():
            return [_gathered(member, kind.item_type, f"{path}[{n}]") for n, member in enumerate(value)]
        case inspect.DictType(), dict():
            return {key: _gathered(member, kind.value_type, f"{path}.{key}") for key, member in value.items()}
        case inspect.UnionType(), _:
            for choice in kind.types:
                value = _gathered(value, choice, path)
    return value


def _record(mapping: dict[str, object], kind: inspect.StructType, path: str) -> object:
    fields = {field.name: field for field in kind.fields if field.name != "other"}
    known = {
        key: _gathered(value, fields[key].type, f"{path}.{key}")
        for key, value in mapping.items()
        if key in fields
    }
    unknown = {key: value for key, value in mapping.items() if key not in fields}
    return _converted({**known, "other": unknown}, kind.cls, path)


def _converted(value: object, kind: type[R], path: str) -> R:
    try:
        return msgspec.convert(value, kind)
    except msgspec.ValidationError as error:
        complaint = _COMPLAINT.fullmatch(str(error))
        what, below = complaint.groups() if complaint else (str(error), "")
        raise _at(f"{path}{below or ''}", what) from error
    except UnicodeEncodeError as error:  # the library compares words in UTF-8
        raise _at(path, f"{error.object!r} holds half of a character, which no word does") from error


def _at(path: str, what: str) -> BadInput:
    place = path.removeprefix(".")
    return BadInput(f"At {place}: {clause(what)}." if place else f"{stem(what)}.")
