"""Parts of synthetic scenes, by the name a scene description uses."""

from heatbrief.testing.fields import Part
from heatbrief.testing.parts.building import (
    AirLeak,
    Framing,
    Layers,
    MissingInsulation,
    ThermalBridge,
)
from heatbrief.testing.parts.electrical import Breaker, Conductor, HeatSink, Joint
from heatbrief.testing.parts.general import Patch, Reflection, Shade, SunPatch
from heatbrief.testing.parts.openings import Vent, Window
from heatbrief.testing.parts.plumbing import Duct, PipeRidge, Radiator, WarmSpread, WetPatch
from heatbrief.testing.parts.vehicle import EngineRadiator, ExhaustRunner

ALL = (
    AirLeak,
    Breaker,
    Conductor,
    Duct,
    EngineRadiator,
    ExhaustRunner,
    Framing,
    HeatSink,
    Joint,
    Layers,
    MissingInsulation,
    Patch,
    PipeRidge,
    Radiator,
    Reflection,
    Shade,
    SunPatch,
    ThermalBridge,
    Vent,
    WarmSpread,
    WetPatch,
    Window,
)
PARTS: dict[str, type[Part]] = {one.kind: one for one in ALL}

__all__ = ["ALL", "PARTS", *(one.__name__ for one in ALL)]
