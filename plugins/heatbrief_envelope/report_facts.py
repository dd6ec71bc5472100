"""Facts that survey practices ask a report to contain. They change no result but the list of what is missing."""

from __future__ import annotations

from heatbrief.api import FactSpec

REPORT_FACTS = (
    FactSpec("survey practice", "practice that was followed, and whether fully", example="ASTM C1060, interior"),
    FactSpec("insulation type", "kind of insulation as far as known", example="glass fibre batts"),
    FactSpec(
        "faces",
        "compass direction the outside of the surface faces",
        choices=("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"),
        example="north",
    ),
    FactSpec("instrument", "type, serial number and date of calibration of the camera", example="calibrated 2026-03"),
    FactSpec("not examined", "parts that were not examined, and why", example="wall behind the wardrobe"),
    FactSpec("further measurement", "what else was measured at the spot, and the result", example="probe hole: empty"),
    FactSpec("other influences", "what else may have acted on the surfaces", example="heating off since 6:00"),
    FactSpec("deviations", "where the survey departed from its practice", example="none"),
    FactSpec(
        "insulation grade", "installation grade given by whoever looked at it", choices=("I", "II", "III"), example="II"
    ),
)
