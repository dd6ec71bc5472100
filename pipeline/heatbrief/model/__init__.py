"""Frozen dataclasses that everything else speaks in. Standard library and numpy only."""

from heatbrief.model.action import Action, PlanItem
from heatbrief.model.caution import Caution, Figure
from heatbrief.model.conditions import Conditions
from heatbrief.model.costs import ActionCost, Bill
from heatbrief.model.estimate import Assumption, Estimate, Factor, Term
from heatbrief.model.finding import Finding, Gate, Outline, Rival
from heatbrief.model.part import FigureRow, Part, PartFigure, PartTable
from heatbrief.model.pixel_scale import PixelScale
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.results import ResultsDocument, SourceRecord
from heatbrief.model.thermogram import Equation, ErrorSource, Picture, Thermogram

__all__ = [
    "Action",
    "ActionCost",
    "Assumption",
    "Bill",
    "Caution",
    "Conditions",
    "Equation",
    "ErrorSource",
    "Estimate",
    "Factor",
    "Figure",
    "FigureRow",
    "Finding",
    "Gate",
    "Outline",
    "Part",
    "PartFigure",
    "PartTable",
    "Picture",
    "PixelScale",
    "PlanItem",
    "Quantity",
    "Region",
    "ResultsDocument",
    "Rival",
    "SourceRecord",
    "Term",
    "Thermogram",
]
