"""Frozen facts to what JSON can hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass


def to_plain(value: object) -> object:
    """Turn frozen facts into what JSON can hold, field by field, without rounding."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(entry) for entry in value]
    return value
