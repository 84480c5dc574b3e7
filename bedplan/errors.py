"""What can go wrong, and how it is told (layer: errors).

Tree::

    BedplanError
    ├── LayoutError (ValueError)      one or more faults of a layout, all of them at once
    ├── UnitError (ValueError)        a quantity that cannot be read
    ├── GeometryError (ValueError)    a shape an engine cannot work on
    ├── StockError (ValueError)       pieces that no stock can give
    └── OutputError (OSError)         a file that cannot be written

A *fault* stops the run: bedplan cannot compute with what the file says. A *finding* does not:
it is a place where the plan breaks a rule of practice and a person decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

Severity = Literal["error", "warning", "note"]


class BedplanError(Exception):
    """Base of every error bedplan raises on purpose."""


class UnitError(BedplanError, ValueError):
    """A quantity that cannot be read.

    Parameters
    ----------
    text
        What was read.
    wanted
        What was expected, in words.
    remedy
        What to write instead.
    """

    def __init__(self, text: object, wanted: str, remedy: str) -> None:
        super().__init__(f"{text!r} is not {wanted}; {remedy}")
        self.text = text
        self.wanted = wanted
        self.remedy = remedy


class GeometryError(BedplanError, ValueError):
    """A shape an engine cannot work on: empty, crossed, or with no width."""


class StockError(BedplanError, ValueError):
    """Pieces that no length on sale or on hand can give."""


class OutputError(BedplanError, OSError):
    """A file that cannot be written, or that must not be overwritten."""


@dataclass(frozen=True)
class Fault:
    """One fault of a layout: the place, what was read, what was wanted, and the remedy.

    Parameters
    ----------
    path
        Keys from the top of the file to the culprit: ``("bed", 2, "width")``.
    got
        What was read, in words.
    wanted
        What was expected.
    remedy
        What to do about it.
    file, line
        Where it stands; the loader fills these in. Line 0 means unknown.
    """

    path: tuple[str | int, ...]
    got: str
    wanted: str
    remedy: str
    file: str = ""
    line: int = 0

    def at(self, file: str, line: int) -> Fault:
        """Return the same fault with its place in a file."""
        return replace(self, file=file, line=line)

    @property
    def key(self) -> str:
        """The path as it is said aloud: ``bed[2].width`` (counted from 1)."""
        words = [f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in self.path]
        return "".join(words).removeprefix(".")

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else f"{self.file}: "
        head = place if self.file else ""
        key = f"{self.key}: " if self.path else ""
        return f"{head}{key}{self.got}\n    wanted: {self.wanted}\n    remedy: {self.remedy}"


class LayoutError(BedplanError, ValueError):
    """A layout that cannot be computed, with every fault found in it."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def of(cls, path: tuple[str | int, ...], got: str, wanted: str, remedy: str) -> LayoutError:
        """Return the error of a single fault."""
        return cls([Fault(path, got, wanted, remedy)])


@dataclass(frozen=True)
class Finding:
    """One place where a plan breaks a rule of practice.

    Parameters
    ----------
    rule
        Short stable name of the rule, such as ``bed-reach``.
    severity
        ``error`` must be settled, ``warning`` should be looked at, ``note`` is for information.
    where
        The bed, path, gate or plant concerned.
    figure, limit
        What the plan has and what the rule asks, ready to read.
    source
        Agency, document and clause; or ``common practice, no source``.
    remedy
        What to change.
    """

    rule: str
    severity: Severity
    where: str
    figure: str
    limit: str
    source: str
    remedy: str
