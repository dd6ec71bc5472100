"""Pool surrounds: where heated water may reach the ground. One example of everything a plugin may offer."""

from __future__ import annotations

from heatbrief.api import Domain, PagePart, PriceEntry, Publisher, hookimpl, load_actions, load_cautions, load_shots
from heatbrief.api import load_sources as read_sources

HEATBRIEF_API = 2


@hookimpl
def heatbrief_domains():
    """One kind of inspection; its caution stands on every page."""
    shots = load_shots(__package__)
    return (Domain("pool", "Pool", "The ground around a heated pool.", ("pool.electricity",), shots),)


@hookimpl
def heatbrief_steps():
    """A reader, a calibration, a check and a calculator, imported only when they are asked for."""
    from heatbrief_pool import heat, leak, tenths

    return (tenths.READER, tenths.HOUSING, leak.STEP, heat.STEP)


@hookimpl
def heatbrief_publishers():
    """A list for the van."""
    from heatbrief_pool.pages import write_list

    return (Publisher("pool.list", 1, write_list, summary="a list of findings as plain text"),)


@hookimpl
def heatbrief_cautions():
    """Texts in cautions.yaml."""
    return load_cautions(__package__)


@hookimpl
def heatbrief_actions():
    """Texts in actions.yaml."""
    return load_actions(__package__)


@hookimpl
def heatbrief_sources():
    """Texts in sources.yaml."""
    return read_sources(__package__)


@hookimpl
def heatbrief_rivals():
    """What else could look the same, here and in the checks of others."""
    from heatbrief_pool.rivals import RIVALS

    return RIVALS


@hookimpl
def heatbrief_page_parts():
    """What the pages of a pool survey say besides."""
    from heatbrief_pool.pages import parts

    return (PagePart("pool.patches", 1, parts, "warm patches by size", domain="pool"),)


@hookimpl
def heatbrief_prices():
    """Invented round figures for the example price book."""
    from heatbrief.model import ActionCost, Quantity

    cost = ActionCost(fixed=Quantity.between(80.0, 160.0, "USD"), hours=Quantity.between(1.0, 2.0, "h"))
    return (PriceEntry("pool.pressure-test", cost),)
