"""The hooks a plugin may implement. This file is the contract."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pluggy

if TYPE_CHECKING:
    from heatbrief.api.offers import PagePart, PriceEntry, RivalTest
    from heatbrief.api.step import Domain, Publisher, Step
    from heatbrief.api.translation import Translation
    from heatbrief.model.action import Action
    from heatbrief.model.caution import Caution
    from heatbrief.model.results import SourceRecord

hookspec = pluggy.HookspecMarker("heatbrief")
hookimpl = pluggy.HookimplMarker("heatbrief")

# All hooks: called once per process, after every plugin is loaded; the order of plugins is not defined.
# Return any number of plain objects, an empty sequence is fine. Do not read files that are not your own, import heavy
# libraries, or look at the manifest. Since API 1 where nothing else is said. `hooks.yaml` has a page for each.


@hookspec
def heatbrief_domains() -> Sequence[Domain]:
    """Offer kinds of inspection that a manifest may name under `inspect:`."""
    raise NotImplementedError


@hookspec
def heatbrief_steps() -> Sequence[Step]:
    """Offer steps for ingest, calibrate, detect or estimate. Names start with the plugin's name and a dot."""
    raise NotImplementedError


@hookspec
def heatbrief_publishers() -> Sequence[Publisher]:
    """Offer ways to publish a results document."""
    raise NotImplementedError


@hookspec
def heatbrief_cautions() -> Sequence[Caution]:
    """Offer caution texts that steps, actions and domains refer to by key."""
    raise NotImplementedError


@hookspec
def heatbrief_actions() -> Sequence[Action]:
    """Offer kinds of repair or next checks that findings refer to by key."""
    raise NotImplementedError


@hookspec
def heatbrief_sources() -> Sequence[SourceRecord]:
    """Offer published sources that steps, gates and cautions refer to by key."""
    raise NotImplementedError


@hookspec
def heatbrief_rivals() -> Sequence[RivalTest]:
    """Offer rival explanations, with their tests, for checks of this plugin and of others. Since API 2."""
    raise NotImplementedError


@hookspec
def heatbrief_page_parts() -> Sequence[PagePart]:
    """Offer parts of pages: text, tables and figures worked out from the results. Since API 2."""
    raise NotImplementedError


@hookspec
def heatbrief_prices() -> Sequence[PriceEntry]:
    """Offer entries of the example price book for actions of this plugin. Since API 2."""
    raise NotImplementedError


@hookspec
def heatbrief_texts() -> Sequence[Translation]:
    """Offer short texts of this or another plugin in other languages. Since API 2."""
    raise NotImplementedError
