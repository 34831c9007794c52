"""The test bicycles of `tests/checklists`, put together without the service: planned, every part in its place."""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import UUID

from service.domain.bicycle import SpecFact
from service.domain.procedure import Library
from tests.domain.bicycles import Workshop, spec

FOLDER = Path(__file__).parent.parent / "checklists"
BICYCLES = tuple(sorted(file.stem for file in FOLDER.glob("*.toml")))


class WholeBicycle:
    """One of them: its parts by `category` or `category@place`, planned, or fitted on the way to a finished one."""

    def __init__(self, library: Library, name: str, *, fitted: bool = False) -> None:
        self.raw = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
        self.library, self.shop = library, Workshop(library)
        self.parts = {
            key: self.new(key.partition("@")[0], said.get("specs", {}), said.get("origin", "new"))
            for key, said in self.raw["parts"].items()
        }
        put = self.shop.fit if fitted else self.shop.choose
        for key, part in self.parts.items():
            into, place = self._where(key)
            put(part, place, into)

    def new(self, category: str, facts: Mapping[str, Any], origin: str = "new") -> UUID:
        """A part that lies in the bin."""
        part = self.shop.part(category, origin=origin)
        specs = {key: _facts(key, value) for key, value in facts.items()}
        self.shop.parts[part] = replace(self.shop.parts[part], specs=specs)
        return part

    def same_again(self, key: str) -> UUID:
        """Swaps a part for a new one just like it, whose id it returns."""
        new = self.new(key.partition("@")[0], self.raw["parts"][key].get("specs", {}))
        self.shop.swap(self.parts[key], new)
        return new

    def _where(self, key: str) -> tuple[UUID | None, str]:
        """The part that it goes into, if not onto the build, and its own word for the place there."""
        category, _, place = key.partition("@")
        hosts = self.library.categories[category].into
        if "build" in hosts:
            return None, place
        end, _, own = place.partition(".")
        for host in hosts:
            for there in (f"{host}@{end}", host):
                if there in self.parts:
                    return self.parts[there], own if "@" in there else place
        raise AssertionError(f"{key}: none of {hosts} is on this bicycle")


def _facts(key: str, value: Any) -> tuple[SpecFact, ...]:
    return tuple(spec(key, each) for each in (value if isinstance(value, list) else [value]))
