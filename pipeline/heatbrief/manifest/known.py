"""The valid names of each kind, and the facts that the installed steps ask for."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any, Protocol

from heatbrief_site import languages

from heatbrief.api.step import Domain, FactSpec, Publisher, Step
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.names import suggestion
from heatbrief.manifest.nodes import Node, Problems, Scalar, Table, described, is_absent, shown
from heatbrief.manifest.scalars import BROKEN, bind_quantity, checked_text
from heatbrief.model.region import Fact
from heatbrief.model.settings import SettingSpec


class Registry(Protocol):
    """What is installed."""

    @property
    def steps(self) -> Mapping[str, Step]:
        """Every step by its full name."""
        ...

    @property
    def publishers(self) -> Mapping[str, Publisher]:
        """Every publisher by its full name."""
        ...

    @property
    def domains(self) -> Mapping[str, Domain]:
        """Every kind of inspection by its name."""
        ...


class NameList:
    """A fixed set of names."""

    def __init__(self, names: Collection[str], noun: str, more: str = "") -> None:
        self._names, self._noun, self._more = frozenset(names), noun, more

    def accepts(self, text: str) -> bool:
        """True for a valid name."""
        return text in self._names

    def remedy(self, text: str) -> str:
        """The nearest name, else the list."""
        return f"{suggestion(text, self._names, self._noun)} {self._more}".strip()


class Materials:
    """Materials with a known emissivity, by name or alias."""

    def accepts(self, text: str) -> bool:
        """True when the emissivity of the material is known."""
        return not self._near(text)[0]

    def remedy(self, text: str) -> str:
        """The nearest materials."""
        near = self._near(text)[1]
        first = f"Did you mean {' or '.join(repr(one) for one in near)}? " if near else ""
        return f"{first}Give `emissivity:` instead for a material that is not listed."

    @staticmethod
    def _near(text: str) -> tuple[bool, tuple[str, ...]]:
        from heatbrief.physics.emissivity import UnknownMaterial, find_material

        try:
            find_material(text)
        except UnknownMaterial as error:
            return True, tuple(error.suggestions)
        return False, ()


class Languages:
    """Languages that have a file of sentences."""

    def accepts(self, text: str) -> bool:
        """True when the fixed sentences of the site exist in that language."""
        return text in languages()

    def remedy(self, text: str) -> str:
        """All there are, and where a new one goes."""
        return (
            f'Write one of: {", ".join(languages())}. DEVELOPERS.md, "A language of one\'s own", says how to add one.'
        )


def known_names(registry: Registry) -> dict[str, Any]:
    """Kind of name -> valid names."""
    more = "`heatbrief plugins` lists what is installed."
    return {"domain": NameList(registry.domains, "domains", more), "material": Materials(), "language": Languages()}


class FactBook:
    """All facts that steps declare, by name. Two steps may read one fact in different units or words."""

    def __init__(self, steps: Iterable[Step]) -> None:
        self.specs: dict[str, list[FactSpec]] = {}
        for step in steps:
            for spec in step.facts:
                same = self.specs.setdefault(spec.name, [])
                if all((one.unit, one.choices) != (spec.unit, spec.choices) for one in same):
                    same.append(spec)

    def bind(self, binder: Binder, node: Node | None) -> dict[str, Fact]:
        """The facts of one region or thermogram; adds what is wrong."""
        facts: dict[str, Fact] = {}
        if not isinstance(node, Table):
            return facts
        for key, (key_node, value) in node.entries.items():
            specs = self.specs.get(key)
            if specs is None:
                remedy = "" if binder.problems.many else suggestion(key, self.specs, "facts")
                binder.problems.add(key_node, "unknown-fact", f"no check asks for the fact {shown(key)}", remedy)
            elif not is_absent(value):
                found = _first_that_fits(binder, value, key, specs)
                if found is not BROKEN:
                    facts[key] = found
        return facts


def _first_that_fits(binder: Binder, node: Node, name: str, specs: list[FactSpec]) -> Any:
    kept = binder.problems
    for spec in specs[:-1]:
        binder.problems = Problems(limit=None)
        try:
            found = _fact(binder, node, name, spec)
        finally:
            binder.problems = kept
        if found is not BROKEN:
            return found
    return _fact(binder, node, name, specs[-1])


def _fact(binder: Binder, node: Node, name: str, spec: FactSpec) -> Any:
    if spec.unit is not None:
        return bind_quantity(SettingSpec(unit=spec.unit, example=spec.example), name)(binder, node, name)
    if not isinstance(node, Scalar):
        binder.problems.add(
            node,
            "wrong-type",
            f"{name} must be a word, got {described(node)}",
            f'Write {name}: "{spec.example or "…"}".',
        )
        return BROKEN
    text = checked_text(binder, node, name)
    if text is BROKEN:
        return BROKEN
    if spec.choices:
        if text not in spec.choices:
            remedy = suggestion(text, spec.choices, "words")
            binder.problems.add(
                node, "unknown-choice", f"{name} must be one of: {', '.join(spec.choices)}; got {shown(text)}", remedy
            )
            return BROKEN
        return text
    return node.text == "true" if node.plain and node.text in ("true", "false") else text
