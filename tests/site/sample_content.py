"""What was found at the invented property: findings, estimates, plan and cautions."""

from __future__ import annotations

from heatbrief.model import Assumption, Caution, Estimate, Figure, Finding, Gate, Outline, PlanItem, Quantity, Rival

Q = Quantity


def findings() -> tuple[Finding, ...]:
    steady = Gate("steady difference", True, "4 h asked, 6 h given", "DOE-scan")
    wind = Gate("wind", False, "at most 5 m/s asked, 7.2 m/s given", "DOE-scan", "Repeat on a calm evening.")
    load = Gate(
        "load",
        None,
        "at least 40 % of the rated current asked, load of the hallway circuit not given",
        "CP",
        "Note the current on every circuit.",
    )
    return (
        Finding(
            "breaker-kitchen",
            "electrical",
            "electrical.circuits",
            "panel",
            "kitchen breaker",
            "Kitchen breaker runs hot",
            "The kitchen breaker is 24 K warmer than its neighbours at the same load. A loose joint is likely.",
            "defect",
            "now",
            0.93,
            Outline(((92, 70), (116, 70), (116, 104), (92, 104)), 816),
            {
                "contrast": Q.normal(24.31, "K", 1.07, "median of the region minus median of its twins"),
                "region temperature": Q(61.4, "degC", 57.2, 66.9, 0.95, "mean of the region, emissivity 0.90"),
                "load": Q.exact(14, "A", "as stated"),
            },
            (load, steady),
            (
                Rival(
                    "reflection of a lamp",
                    "ruled out",
                    "The warm place keeps its outline in both pictures; a mirror image would move.",
                ),
                Rival(
                    "normal load",
                    "not ruled out",
                    "14 A of 20 A is known for this circuit; the twins' loads are not.",
                    "the current on the twin circuits",
                ),
                Rival(
                    "low emissivity",
                    "not testable",
                    "The material of the breaker face was not given.",
                    "a picture with tape on the face",
                ),
            ),
            (
                {"table": "NETA MTS table 100.18", "class": "major", "limit": "over 15 K", "probability": "97 %"},
                {"table": "NETA MTS table 100.18", "class": "intermediate", "limit": "4 to 15 K", "probability": "3 %"},
            ),
            ("electrical.tighten", "electrical.recheck"),
            ("electrical.panel", "electrical.general"),
            ("NETA-100.18", "unlisted-key"),
            "utility room",
            "",
            ("Note the current of every circuit at the moment of the picture.",),
        ),
        Finding(
            "ceiling-edge",
            "envelope",
            "envelope.insulation",
            "bedroom-ceiling",
            "batt edge by the window",
            "Insulation missing over the north bedroom",
            "About 1.6 m² of the ceiling is warmer than the rest; insulation is missing or has slipped.",
            "defect",
            "soon",
            0.88,
            Outline(((112, 40), (188, 40), (188, 66), (112, 66)), 1976),
            {
                "area": Q(1.62, "m2", 1.38, 1.97, 0.95, "pixels times pixel size"),
                "contrast": Q.normal(3.4, "K", 0.31, "region minus ceiling"),
                "transmittance": Q(1.9, "W/(m2 K)", 1.1, 3.2, 0.95, "temperature factor"),
            },
            (steady, wind),
            (
                Rival("sun on the roof above", "ruled out", "The sun set 5 h before."),
                Rival("wet ceiling", "not testable", "Warm, not cold.", "a moisture meter"),
            ),
            (),
            ("envelope.insulate", "envelope.seal"),
            ("envelope.attic",),
            ("DOE-scan",),
            "north bedroom",
            "north ceiling",
        ),
        Finding(
            "ceiling-leak",
            "envelope",
            "envelope.air",
            "bedroom-ceiling",
            "",
            "Air leak along the ceiling light",
            "A thin warm line runs from the lamp to the wall, as moving attic air would draw it.",
            "suspect",
            "plan",
            0.61,
            Outline(((220, 150), (300, 156), (300, 162), (220, 158)), 300),
            {"contrast": Q.normal(1.2, "K", 0.4, "line minus surroundings")},
            (wind,),
            (Rival("warm lamp", "not ruled out", "The lamp had been on."),),
            (),
            ("envelope.seal",),
            ("envelope.attic",),
            (),
            "north bedroom",
            "north ceiling",
        ),
        Finding(
            "valve-box",
            "plumbing",
            "plumbing.wet-soil",
            "lawn",
            "valve box",
            "Cool wet strip by the valve box",
            "The strip is darker than the lawn around it. Without a scale only brightness can be compared.",
            "suspect",
            "watch",
            0.55,
            Outline(((60, 60), (120, 60), (120, 80), (60, 80)), 1200),
            {
                "brightness difference": Q.normal(-412, "count", 35, "strip minus lawn"),
                "share of the picture": Q.normal(0.031, "1", 0.002),
            },
            (),
            (Rival("shade", "not ruled out", "A tree stands 20 °C cooler shade to the west."),),
            (),
            ("plumbing.dig",),
            ("plumbing.digging",),
            (),
            "garden",
        ),
        Finding(
            "hall-breaker",
            "electrical",
            "electrical.circuits",
            "panel",
            "hallway breaker",
            "Hallway breaker cannot be judged",
            "Its load is not known.",
            "inconclusive",
            "plan",
            0.3,
            None,
            {},
            (load,),
            (),
            (),
            (),
            ("electrical.panel",),
            (),
            "utility room",
        ),
        Finding(
            "wall-east",
            "envelope",
            "envelope.insulation",
            "bedroom-ceiling",
            "east wall",
            "East wall evenly insulated",
            "No part of the wall differs from the rest by more than the bounds.",
            "normal",
            "none",
            0.04,
            None,
            {"contrast": Q.normal(0.02, "K", 0.2)},
        ),
    )


def estimates() -> tuple[Estimate, ...]:
    given = (
        Assumption("electricity price", "0.16 USD/kWh", "given in the survey"),
        Assumption("cooling degree days", "2100 K·d", "weather file"),
    )
    return (
        Estimate(
            "e1",
            "ceiling-edge",
            "yearly-cost",
            "What the gap costs in a year",
            {
                "energy": Q(182, "kWh/a", 96, 311),
                "money": Q(29.1, "USD/a", 15.4, 49.8),
                "heat flow": Q(5.9, "W/m2", 3.1, 9.9),
            },
            given,
            ("DOE-scan",),
            ("Cooling season only.",),
        ),
        Estimate(
            "e2",
            "",
            "total",
            "All losses found, each area once",
            {"money": Q(41.0, "USD/a", 20.2, 71.7), "energy": Q(256, "kWh/a", 126, 448)},
            given,
        ),
    )


def plan() -> tuple[PlanItem, ...]:
    return (
        PlanItem(
            1,
            "electrical.tighten",
            "Have the joint checked and made good",
            "repair",
            "licensed electrician",
            "Opens the panel with the supply off and checks the joint, the breaker and the wire.",
            ("breaker-kitchen",),
            "now",
            {"cost": Q(220, "USD", 120, 380)},
            ("electrical.panel",),
            "Safety comes before saving.",
        ),
        PlanItem(
            2,
            "envelope.seal",
            "Seal the ceiling against the attic",
            "repair",
            "owner",
            "Closes gaps around the lamp and along the wall from below.",
            ("ceiling-leak", "ceiling-edge"),
            "soon",
            {"cost": Q(45, "USD", 30, 70)},
            ("envelope.attic",),
            "Sealing comes before insulating.",
        ),
        PlanItem(
            3,
            "envelope.insulate",
            "Fill the gap in the insulation",
            "repair",
            "contractor",
            "Lays insulation of the same thickness over the open area.",
            ("ceiling-edge",),
            "soon",
            {"cost": Q(150, "USD", 90, 240), "saving": Q(29.1, "USD/a", 15.4, 49.8), "payback": Q(5.2, "a", 2.4, 11.0)},
            ("envelope.attic",),
        ),
        PlanItem(
            4,
            "plumbing.dig",
            "Look at the valve box again on a dry evening",
            "check",
            "owner",
            "Compares the strip with a calibrated picture before anyone digs.",
            ("valve-box",),
            "watch",
            {},
            ("plumbing.digging",),
        ),
    )


def cautions() -> tuple[Caution, ...]:
    return (
        Caution(
            "electrical.panel",
            "Electrical panels",
            "Anyone near a panel, open or closed.",
            (
                "Do not open covers and do not reach toward live parts for a picture.",
                "Let a licensed electrician open the panel and stand by.",
                "Never alone; no wet hands, no wet floor.",
            ),
            (
                Figure("Unqualified people keep 3 m (10 ft) from unguarded parts of 50 V and more.", "S84", "seen"),
                Figure("Arc-flash boundary 1.2 cal/cm²", "NFPA-70E", "memory"),
            ),
            ("NFPA 70E and local code", "the licensed electrician on site"),
        ),
        Caution(
            "envelope.attic",
            "Attics",
            "Before anyone goes up.",
            ("Walk only on joists: ceilings do not carry people.", "Short visits, a partner, water."),
            (Figure("Heat index above 103 °F: high risk", "S80", "seen"),),
            ("OSHA and NIOSH heat pages",),
        ),
        Caution(
            "plumbing.digging",
            "Digging",
            "Before any dig.",
            ("Call before any dig and wait.", "Hand tools in the marked strip."),
            (),
            ("the local one-call law",),
        ),
        Caution(
            "survey.pictures",
            "Taking pictures",
            "Always.",
            ("Never aim at the sun.", "Only your own property."),
            (Figure("No source", "CP", "CP"),),
            ("local privacy law",),
        ),
    )
