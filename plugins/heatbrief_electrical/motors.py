"""Motor frames against their twins; the class of the winding stands beside them as information, never as a limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import groups_of, matches, own_regions
from heatbrief.model import Finding, Region, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import classes
from heatbrief_electrical.argued import compared_finding, least_for, stage_of
from heatbrief_electrical.compared import compare, members_of
from heatbrief_electrical.parts import ALWAYS, DOMAIN, FACTS, MOTORS

NAME = "electrical.motors"
CLASSES = ("A", "B", "F", "H")
WINDING = FactSpec("insulation class", "insulation class on the motor's plate", choices=CLASSES, example="F")
FRAME = (
    "The frame is compared with its twin's frame, never with the limit of the winding, which is well hotter inside. "
    "The pattern is consistent with a bearing, blocked cooling, a higher load or unbalanced voltages."
)


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes, and from when a difference counts."""

    table: classes.TwinTable = setting(
        "neta-similar",
        help="published table of classes by difference; its name is printed with each class",
        example="experience",
    )
    least: float = setting(
        4.0, unit="K", positive=True, help="least difference between like frames that is reported", example="4 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the frames of every group; a motor without a twin is noted."""
    findings: list[Finding] = []
    notes: list[str] = []
    for group, regions in groups_of(context, subject, MOTORS).items():
        members, empty = members_of(subject, regions, context)
        notes.extend(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
        if len(members) < 2:
            notes.append(f"{subject.id}, group {group}: a comparison needs two frames in one picture.")
            continue
        compared = compare(members)
        odd = [
            one
            for one in compared
            if one.difference.value >= least_for(settings.least, settings.table, stage_of(one, settings.table))
        ]
        findings.extend(
            compared_finding(
                subject,
                context,
                one,
                check=NAME,
                table=settings.table,
                least=settings.least,
                pattern=FRAME,
                repair="electrical.service-motor",
                rows=winding_rows(one.member.region),
                sources=("nema-mg1-classes",) if winding_rows(one.member.region) else (),
            )
            for one in odd
        )
        if not odd:
            notes.append(
                f"{subject.id}, group {group}: no frame is {settings.least:g} K or more warmer than the others."
            )
    notes.extend(
        f"{subject.id}, {region.name}: a motor without a twin. A frame says little by itself and is never held "
        "against the limit of its winding; name a like motor in the same `group`."
        for region in own_regions(context, subject)
        if matches(MOTORS, region.shows) and not region.group
    )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def winding_rows(region: Region) -> tuple[Mapping[str, str], ...]:
    """The winding's class as information; empty when it is not stated. NEMA MG-1 and IEC 60085 [seen: S14]."""
    stated = region.facts.get(WINDING.name)
    row = next((one for one in electrical.limits("motor_winding") if one["part"] == f"class {stated}"), None)
    if row is None:
        return ()
    more = f" ({row['rise_sf_115']} K at service factor 1.15)" if "rise_sf_115" in row else ""
    return (
        {
            "table": f"NEMA MG-1 and IEC 60085, winding class {stated}",
            "compares": "information only: the winding inside, not the frame seen here",
            "class": f"rise {row['rise']} K{more}, at most {row['max']} degC",
            "probability": "no class of this picture",
            "printed advice": "a frame is well below its winding and is never compared with this",
        },
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=MOTORS,
    facts=(*FACTS, WINDING),
    summary="Compares like motor frames at like load; the class of the winding is printed as information only.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=("neta-100-18", "practice-tables", "nema-mg1-classes", "load-gate", "load-exponent", "wind-table"),
    title="like motors",
)
