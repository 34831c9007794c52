"""A whole bicycle from its TOML file, entered over HTTP: parts with facts, planned, then fitted."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import httpx

from service.domain.procedure import Library
from tests.api.words import fit, made, part, plan

FOLDER = Path(__file__).parent
BICYCLES = sorted(path.stem for path in FOLDER.glob("*.toml"))


class Entered:
    """One bicycle on the service: the build's id, and its parts by `category@place`."""

    def __init__(self, client: httpx.Client, library: Library, name: str) -> None:
        self.client, self.library = client, library
        self.raw = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
        self.title = str(self.raw["title"])
        self.build = str(made(client, "/builds", name=self.title, **self.raw["build"])["id"])
        self.parts = {key: self._part(key, said) for key, said in self.raw["parts"].items()}

    def _part(self, key: str, said: Mapping[str, Any]) -> str:
        facts = {field: _fact(fact) for field, fact in said.get("specs", {}).items()}
        sent = {"origin": said.get("origin", "new"), "specs": facts}
        return part(self.client, key.partition("@")[0], said.get("name", ""), **sent)

    def plan(self) -> None:
        """Every part chosen for its place."""
        for key, part_id in self.parts.items():
            into, place = self._where(key)
            plan(self.client, self.build, part_id, place, **into)

    def fit(self) -> None:
        """Every part fitted, hosts first as the file lists them."""
        for key, part_id in self.parts.items():
            into, place = self._where(key)
            fit(self.client, self.build, part_id, place, **into)

    def _where(self, key: str) -> tuple[dict[str, str], str]:
        """The part that it goes into, if not onto the build, and its own word for the place there."""
        category, _, place = key.partition("@")
        hosts = self.library.categories[category].into
        if "build" in hosts:
            return {}, place
        end, _, own = place.partition(".")
        for host in hosts:
            for there in (f"{host}@{end}", host):
                if there in self.parts:
                    return {"into_part": self.parts[there]}, own if "@" in there else place
        raise AssertionError(f"{key}: none of {hosts} is on this bicycle")


def _fact(fact: Any) -> dict[str, Any]:
    if isinstance(fact, bool):
        return {"words": "yes" if fact else "no"}
    if isinstance(fact, int | float):
        return {"number": fact}
    if isinstance(fact, list):
        return {"numbers" if isinstance(fact[0], int | float) else "choices": fact}
    return {"words": fact}
