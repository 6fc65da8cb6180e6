"""Where a number comes from: a tree of steps with content-hash ids."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from cutbook.model.cautions import Caution


@dataclass(frozen=True)
class Source:
    """A file that was read.

    path : relative to the run folder. sha256 : of its bytes.
    place : the entry in the file that was used ("[[product]] 2, mass"); then the entry's own text
        stands in the step's settings and decides its id, not the hash of the whole file, so that
        correcting one weighing does not change the ids of what does not depend on it.
    """

    path: str
    sha256: str
    place: str = ""


def canonical(value: Any) -> Any:
    """Settings as plain JSON values, so that equal settings always hash alike."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: canonical(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(k): canonical(v) for k, v in sorted(value.items(), key=lambda kv: str(kv[0]))}
    if isinstance(value, (list, tuple)):
        return [canonical(v) for v in value]
    if isinstance(value, (str, int, float, bool)) or value is None:
        return value
    return str(value)


@dataclass(frozen=True, eq=False)
class Step:
    """One operation in the making of a number.

    operation : name and revision, "sum cuts/1"; the revision rises when the arithmetic changes.
    inputs : the steps whose results went in.
    settings : a settings dataclass or mapping; what was in force.
    source : the file read, for steps that read one.
    cautions : doubts and dangers that arose in this step.
    id : content hash over operation, settings, source and the ids of the inputs.
    """

    operation: str
    inputs: tuple[Step, ...] = ()
    settings: Any = None
    source: Source | None = None
    cautions: tuple[Caution, ...] = ()
    id: str = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "settings", canonical(self.settings))
        content = json.dumps(
            [
                self.operation,
                [step.id for step in self.inputs],
                self.settings,
                (self.source.place or self.source.sha256) if self.source else None,
            ],
            sort_keys=True,
            ensure_ascii=True,
        )
        object.__setattr__(self, "id", hashlib.sha256(content.encode()).hexdigest()[:16])

    def walk(self) -> Iterator[Step]:
        """Every step below and including this one, each once, inputs before what they feed."""
        seen: set[int] = set()

        def visit(step: Step) -> Iterator[Step]:
            if id(step) in seen:
                return
            seen.add(id(step))
            for before in step.inputs:
                yield from visit(before)
            yield step

        yield from visit(self)

    def all_cautions(self) -> tuple[Caution, ...]:
        """The cautions of the whole tree, each once, in the order in which they arose."""
        return tuple(dict.fromkeys(c for step in self.walk() for c in step.cautions))

    def sources(self) -> tuple[Source, ...]:
        """The files at the roots of the tree."""
        return tuple(dict.fromkeys(step.source for step in self.walk() if step.source))
