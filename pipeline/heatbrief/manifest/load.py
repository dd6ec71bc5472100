"""`survey.yaml` to a Manifest in which every name, number and reference has been checked."""

from __future__ import annotations

import gc
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.manifest.bill_file import with_bill_files
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.floors import check_floors
from heatbrief.manifest.include import read_with_includes
from heatbrief.manifest.known import FactBook, Registry, known_names
from heatbrief.manifest.measures import check_camera
from heatbrief.manifest.nodes import Node, Problems, Scalar, Table, TooManyProblems, is_absent, shown
from heatbrief.manifest.origins import origins_of, shared_files
from heatbrief.manifest.paths import SurveyFolder
from heatbrief.manifest.pictures import check_moment, thermograms_of
from heatbrief.manifest.price_book import check_costs, cost_prices, with_offered_prices, with_price_book
from heatbrief.manifest.schema import CameraEntry, Manifest
from heatbrief.manifest.steps import bind_shared, bind_steps

__all__ = ["Registry", "load_manifest"]

MOST_FRAMES = 64
_CURRENCY = re.compile(r"[A-Z]{3}")


def load_manifest(path: Path, registry: Registry, *, pictures_required: bool = True) -> Manifest:
    """The manifest in a file.

    Pictures need not exist; everything else that can be known from the text is checked. Without `pictures_required` none
    need be listed either, as before a visit.
    Raises UserError with all problems in the order of the file.
    """
    with _without_collection():
        return _load(Path(path), registry, pictures_required)


@contextmanager
def _without_collection() -> Iterator[None]:
    """Pause the search for reference cycles: a tree has none, and it takes a third of the time."""
    paused = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if paused:
            gc.enable()


def _load(path: Path, registry: Registry, pictures_required: bool) -> Manifest:
    problems = Problems()
    try:
        return _found(path, registry, problems, pictures_required)
    except TooManyProblems:
        raise UserError(problems.sorted()) from None


def _found(path: Path, registry: Registry, problems: Problems, pictures_required: bool) -> Manifest:
    shared: list[Table] = []
    tree = read_with_includes(path, problems, shared)
    if tree is None:
        problems.stop_if_any()
        raise AssertionError("a tree that could not be read has a problem")
    origins = origins_of(path, tree, shared)
    tree, stated = with_price_book(tree, problems)
    folder = SurveyFolder(path.parent)
    binder = Binder(
        problems,
        known_names(registry),
        _stated_currency(tree) or "USD",
        lambda binder, node, name, text: folder.holds(text, node, name, binder.problems),
    )
    manifest: Manifest = binder.bind(tree, Manifest, "the manifest", lenient=True)
    if pictures_required:
        _check_pictures(binder, tree, manifest)
    manifest = _checked(binder, tree, with_bill_files(binder, tree, path.parent, manifest), registry, folder)
    check_costs(binder, tree, manifest, getattr(registry, "actions", {}), manifest.currency, stated)
    problems.stop_if_any()
    manifest = with_offered_prices(manifest, getattr(registry, "prices", {}))
    object.__setattr__(manifest, "folder", path.parent)
    object.__setattr__(manifest, "path", path)
    object.__setattr__(manifest, "stated_costs", stated)
    object.__setattr__(manifest, "shared", shared_files(path, shared))
    object.__setattr__(manifest, "origins", origins)
    return manifest


def _checked(binder: Binder, tree: Table, manifest: Manifest, registry: Registry, folder: SurveyFolder) -> Manifest:
    thermograms = thermograms_of(
        binder, manifest, folder, FactBook(registry.steps[name] for name in sorted(registry.steps))
    )
    check_floors(binder, manifest.floors, thermograms, folder)
    shared = bind_shared(binder, tree, registry)
    bind_steps(binder, manifest.stages, registry, [entry.id for entry in thermograms], shared)
    check_camera(binder, manifest.camera)
    check_moment(binder, tree, "date", manifest.date)
    _check_property(binder, tree, manifest)
    camera = _with_frames(binder, manifest.camera, folder)
    return replace(
        manifest,
        thermograms=thermograms,
        regions=(),
        camera=camera,
        settings=shared,
        currency=_currency(binder, tree, manifest),
    )


def _with_frames(binder: Binder, camera: CameraEntry, folder: SurveyFolder) -> CameraEntry:
    """The camera with the patterns of its flat-field frames expanded; adds paths that leave the folder."""
    if not camera.flat_field:
        return camera
    entry = binder.origin(camera)
    assert isinstance(entry, Table)
    place = entry.at("flat_field")
    files = []
    for text in camera.flat_field:
        if folder.holds(text, place, "flat_field", binder.problems):
            files += [file for file in folder.matches(text) if folder.holds(file, place, "flat_field", binder.problems)]
    if len(files) > MOST_FRAMES:
        message = f"the flat field names {len(files)} frames; at most {MOST_FRAMES} are read"
        binder.problems.add(place, "too-many-frames", message, "Choose some of them.")
    return replace(camera, flat_field=tuple(dict.fromkeys(files)))


def _check_pictures(binder: Binder, tree: Table, manifest: Manifest) -> None:
    listed = tree.get("thermograms")
    if not manifest.thermograms and (is_absent(listed) or not getattr(listed, "items", True)):
        binder.problems.add(
            tree.at("thermograms"),
            "no-pictures",
            "the manifest lists no pictures",
            "Add `thermograms:` with a list, or let `heatbrief new FOLDER` write one.",
        )


def _check_property(binder: Binder, tree: Table, manifest: Manifest) -> None:
    if manifest.property is None:
        return
    node = binder.origin(manifest.property)
    given = node.get("name") if isinstance(node, Table) else None
    if isinstance(given, Scalar) and not is_absent(given) and not given.text.strip():
        binder.problems.add(
            given, "empty-name", "the property needs a name", "Write the name by which its owner knows it."
        )


def _stated_currency(tree: Table) -> str | None:
    node = tree.get("currency")
    return node.text if isinstance(node, Scalar) and _CURRENCY.fullmatch(node.text) else None


def _currency(binder: Binder, tree: Table, manifest: Manifest) -> str:
    """The currency of the survey: as stated, else that of its prices. Two currencies cannot be added up."""
    node = tree.get("currency")
    stated = _stated_currency(tree)
    if stated is None and isinstance(node, Scalar) and not is_absent(node):
        binder.problems.add(
            node,
            "bad-currency",
            f"currency must be three capital letters, got {shown(node.text)}",
            "Write a code such as USD or EUR.",
        )
        return "USD"
    used = Counter(price.unit[:3] for price in (*manifest.prices.values(), *cost_prices(manifest)))
    if stated is None and not used:
        return "USD"
    main = stated or used.most_common(1)[0][0]
    prices = tree.get("prices")
    for name, price in manifest.prices.items():
        if price.unit[:3] != main:
            place: Node = prices.at(name) if isinstance(prices, Table) else tree
            binder.problems.add(
                place,
                "two-currencies",
                f"the price of {shown(name)} is in {price.unit[:3]}, but the survey's currency is {main}",
                f"Give all prices in {main}, or state `currency:`.",
            )
    return main
