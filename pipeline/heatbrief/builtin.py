"""What heatbrief itself offers, through the same door as anybody's plugin."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.api import Publisher, Step, Translation, hookimpl, load_texts
from heatbrief.calibrate import STEPS as CALIBRATE
from heatbrief.estimate import STEPS as ESTIMATE
from heatbrief.model.results import SourceRecord
from heatbrief.readers import STEPS as READERS
from heatbrief.site.publisher import PUBLISHERS


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """Readers, calibration, and the checks and calculators that serve all domains."""
    from heatbrief.detect.drift import STEP as STEADINESS

    return (*READERS, *CALIBRATE, *ESTIMATE, STEADINESS)


@hookimpl
def heatbrief_publishers() -> Sequence[Publisher]:
    """The static site."""
    return PUBLISHERS


@hookimpl
def heatbrief_sources() -> Sequence[SourceRecord]:
    """The references of `heatbrief.physics` and of the survey gates."""
    from heatbrief.detect import gate_sources
    from heatbrief.physics.sources import load_sources

    physics = {key: SourceRecord(key, source.text, source.mark, source.url) for key, source in load_sources().items()}
    return tuple({source.key: source for source in (*gate_sources(), *physics.values())}.values())


@hookimpl
def heatbrief_texts() -> Sequence[Translation]:
    """Texts of the built-in steps, gates and rival explanations in texts.<language>.yaml."""
    return load_texts("heatbrief", "heatbrief")
