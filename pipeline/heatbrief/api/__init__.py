"""What plugin authors import. Everything named here keeps its meaning within one API version."""

from heatbrief.api.bounds import propagated
from heatbrief.api.context import Camera, ColourBar, Context, Rectangle, View
from heatbrief.api.data import load_actions, load_cautions, load_shots, load_sources
from heatbrief.api.deprecation import API_VERSION, HeatbriefDeprecation
from heatbrief.api.hooks import hookimpl
from heatbrief.api.offers import PagePart, PriceEntry, RivalTest
from heatbrief.api.step import Domain, FactSpec, NoSettings, Publisher, Shot, Step, StepOutput
from heatbrief.api.translation import Translation, load_texts
from heatbrief.errors import StepError
from heatbrief.model.settings import setting

__all__ = [
    "API_VERSION",
    "Camera",
    "ColourBar",
    "Context",
    "Domain",
    "FactSpec",
    "HeatbriefDeprecation",
    "NoSettings",
    "PagePart",
    "PriceEntry",
    "Publisher",
    "Rectangle",
    "RivalTest",
    "Shot",
    "Step",
    "StepError",
    "StepOutput",
    "Translation",
    "View",
    "hookimpl",
    "load_actions",
    "load_cautions",
    "load_shots",
    "load_sources",
    "load_texts",
    "propagated",
    "setting",
]
