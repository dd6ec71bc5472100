"""Pool surrounds: where heated water may reach the ground."""

from __future__ import annotations

from heatbrief.api import Domain, hookimpl, load_actions, load_cautions


@hookimpl
def heatbrief_domains():
    """One kind of inspection; its caution stands on every page."""
    return (Domain("pool", "Pool", "The ground around a heated pool.", ("pool.electricity",)),)


@hookimpl
def heatbrief_steps():
    """The check, imported only when it is asked for."""
    from heatbrief_pool.leak import STEP

    return (STEP,)


@hookimpl
def heatbrief_cautions():
    """Texts in cautions.yaml."""
    return load_cautions(__package__)


@hookimpl
def heatbrief_actions():
    """Texts in actions.yaml."""
    return load_actions(__package__)
