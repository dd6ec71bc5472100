"""The detection core that all checks share: find areas, compare regions, test conditions and rivals, conclude.

A check chooses regions (`chosen_regions`, `search_mask`), finds areas (`find_areas`) or compares twins
(`read_region`, `twins`), and hands each
`Case` with its `Criterion` to `conclude`, which returns the argued finding. The rule of judgement is data: `RULE`,
`ODDS`, `URGENCY_RULE`.
"""

from heatbrief.detect.areas import find_areas
from heatbrief.detect.case import Case
from heatbrief.detect.compare import Comparison, Reading, difference, read_region, twins
from heatbrief.detect.conclude import conclude, what_next
from heatbrief.detect.field import Field, fit_field, residual_sigma
from heatbrief.detect.gates import (
    Rule,
    gate_kinds,
    gate_rules,
    gate_sources,
    rule_for,
    rule_sets,
    survey_gate,
    survey_gates,
)
from heatbrief.detect.judge import ODDS, RULE, URGENCY_RULE, Criterion, Judgement, judge
from heatbrief.detect.measure import Area, zone_allows_temperature
from heatbrief.detect.regions import (
    NOT_SEARCHED,
    chosen_regions,
    excluded_mask,
    fact_of,
    groups_of,
    matches,
    own_regions,
    search_mask,
    view_of,
)
from heatbrief.detect.rivals import FACTS, RIVALS, argue, facts_for
from heatbrief.detect.sequence import Growth, area_growth, seconds_of
from heatbrief.detect.words import figure, number, said, slug
from heatbrief.model.once import mask_key, once

__all__ = [
    "FACTS",
    "NOT_SEARCHED",
    "ODDS",
    "RIVALS",
    "RULE",
    "URGENCY_RULE",
    "Area",
    "Case",
    "Comparison",
    "Criterion",
    "Field",
    "Growth",
    "Judgement",
    "Reading",
    "Rule",
    "area_growth",
    "argue",
    "chosen_regions",
    "conclude",
    "difference",
    "excluded_mask",
    "fact_of",
    "facts_for",
    "figure",
    "find_areas",
    "fit_field",
    "gate_kinds",
    "gate_rules",
    "gate_sources",
    "groups_of",
    "judge",
    "mask_key",
    "matches",
    "number",
    "once",
    "own_regions",
    "read_region",
    "residual_sigma",
    "rule_for",
    "rule_sets",
    "said",
    "search_mask",
    "seconds_of",
    "slug",
    "survey_gate",
    "survey_gates",
    "twins",
    "view_of",
    "what_next",
    "zone_allows_temperature",
]
