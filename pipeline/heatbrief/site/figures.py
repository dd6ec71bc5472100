"""Pictures with their colour scale and outlines as page data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.format import number, number_of, to_display, typeset_unit, with_unit
from heatbrief.site.outlines import finding_outline, own_outlines, photo_outline, place_labels, region_outline
from heatbrief.site.pictures import Drawn

MOST_TICKS = 7


def record_figure(site: Site, record: ThermogramRecord, ident: str) -> Data | None:
    """A whole picture with all its named regions."""
    drawn = site.pictures.thermal.get(record.id)
    if drawn is None:
        return None
    regions = [region_outline(one, record, drawn.box) for one in record.regions if one.shape != "whole"]
    found = [finding_outline(one, one.title, drawn.box, False) for one in site.findings_on.get(record.id, ())]
    outlines = [*regions, *(one for one in found if one)]
    kinds = [kind for kind, given in (("region", regions), ("finding", any(found))) if given]
    return _figure(site, drawn, record, outlines, ident, _alt(site, drawn, record)) | {"toggles": _toggles(site, kinds)}


def finding_figure(site: Site, finding: Finding, ident: str) -> Data | None:
    """The picture of a finding with its own outline and region."""
    record = site.record_by_id.get(finding.thermogram)
    drawn = site.pictures.thermal.get(finding.thermogram)
    if record is None or drawn is None:
        return None
    return _figure(
        site, drawn, record, own_outlines(site, finding, record, drawn.box), ident, _alt(site, drawn, record, finding)
    )


def crop_figure(site: Site, finding: Finding, ident: str) -> Data | None:
    """The enlarged part around a finding's outline, on the same colour scale."""
    record, drawn = site.record_by_id.get(finding.thermogram), site.pictures.crops.get(finding.id)
    if record is None or drawn is None:
        return None
    outlines = own_outlines(site, finding, record, drawn.box)[-1:]
    return _figure(site, drawn, record, outlines, ident, _alt_crop(site, drawn, record))


def photo_figure(site: Site, record: ThermogramRecord, finding: Finding | None = None) -> Data | None:
    """The ordinary photo of the same place, with the finding's outline where it is known how the two pictures lie."""
    drawn = site.pictures.photos.get(record.id)
    if drawn is None:
        return None
    alt = site.words.say("picture.alt_photo", title=site.picture_name(record.id))
    outline = photo_outline(site, finding, record, drawn.box) if finding else None
    x0, y0, x1, y1 = drawn.box
    return {
        "src": drawn.path,
        "width": drawn.width,
        "height": drawn.height,
        "alt": alt,
        "viewbox": f"{x0 - 0.5:g} {y0 - 0.5:g} {x1 - x0} {y1 - y0}",
        "outlines": place_labels([outline]) if outline else [],
    }


def thumbnail(site: Site, finding: Finding) -> Data | None:
    """The enlarged part, or the whole picture, without a scale bar but with its range in words."""
    record = site.record_by_id.get(finding.thermogram)
    crop = site.pictures.crops.get(finding.id)
    drawn = crop or site.pictures.thermal.get(finding.thermogram)
    if record is None or drawn is None:
        return None
    alt = _alt_crop(site, drawn, record) if crop else _alt(site, drawn, record, finding)
    return {
        "src": drawn.path,
        "width": drawn.width,
        "height": drawn.height,
        "alt": alt,
        "range": _range_text(site, drawn),
    }


def record_thumbnail(site: Site, record: ThermogramRecord) -> Data | None:
    """A whole picture, small."""
    drawn = site.pictures.thermal.get(record.id)
    if drawn is None:
        return None
    return {
        "src": drawn.path,
        "width": drawn.width,
        "height": drawn.height,
        "alt": _alt(site, drawn, record),
        "range": _range_text(site, drawn),
    }


def scale_ticks(low: float, high: float) -> list[tuple[float, float]]:
    """(place from 0 at the bottom to 1, value) of round numbers between the ends of a scale."""
    rough = (high - low) / MOST_TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    values = [round((first + index) * step, 12) for index in range(MOST_TICKS + 2)]
    return [((value - low) / (high - low), value) for value in values if value <= high + 1e-9 * step]


def _figure(site: Site, drawn: Drawn, record: ThermogramRecord, outlines: Sequence[Data], ident: str, alt: str) -> Data:
    say = site.words.say
    notes = []
    if drawn.below or drawn.above:
        notes.append(say("picture.clipped"))
    if drawn.masked:
        notes.append(say("picture.masked"))
    placed = place_labels(outlines)
    if any(one["label"] and not one["place"] for one in placed):
        notes.append(say("picture.unlabelled"))
    x0, y0, _, _ = drawn.box
    return {
        "id": ident,
        "src": drawn.path,
        "width": drawn.width,
        "height": drawn.height,
        "alt": alt,
        "outlines": placed,
        "toggles": _toggles(site, ["outlines"] if placed else []),
        "viewbox": f"{x0 - 0.5:g} {y0 - 0.5:g} {drawn.width} {drawn.height}",
        "scale": _scale(site, drawn),
        "notes": notes,
        "title": site.picture_name(record.id),
    }


def _toggles(site: Site, kinds: Sequence[str]) -> list[Data]:
    """Boxes to switch outlines off: of regions, of findings, or all outlines at once."""
    return [{"kind": one, "text": site.words.say(f"picture.show.{one}")} for one in kinds]


def _ends(site: Site, drawn: Drawn) -> tuple[float, float, str]:
    low, _, _, code = to_display(Quantity.exact(drawn.low, drawn.unit), site.units)
    high, _, _, _ = to_display(Quantity.exact(drawn.high, drawn.unit), site.units)
    return float(low), float(high), typeset_unit(code)


def _end_texts(site: Site, drawn: Drawn) -> tuple[str, str]:
    key = (drawn.low, drawn.high, drawn.unit)
    if key not in site.end_texts:
        site.end_texts[key] = _new_end_texts(site, drawn)
    return site.end_texts[key]


def _new_end_texts(site: Site, drawn: Drawn) -> tuple[str, str]:
    low, high, unit = _ends(site, drawn)
    digits = 0 if high - low >= 20 else 1 if high - low >= 0.5 else 2
    start, end = (site.numerals(with_unit(_fixed(value, digits, site.units), unit)) for value in (low, high))
    return start, end


def _fixed(value: float, digits: int, units: str) -> str:
    return number(Decimal(repr(value)).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP), units)


def _scale(site: Site, drawn: Drawn) -> Data:
    say, source = site.words.say, site.pictures.scale.path
    if drawn.unit != "degC":
        return {
            "src": source,
            "unit": "",
            "ticks": [],
            "top": say("picture.bright"),
            "bottom": say("picture.dark"),
            "text": say("picture.scale_unscaled"),
        }
    low, high, unit = _ends(site, drawn)
    ticks = [
        {"at": f"{100 * place:.2f}", "label": site.numerals(number_of(value, 6, site.units))}
        for place, value in scale_ticks(low, high)
    ]
    low_text, high_text = _end_texts(site, drawn)
    return {
        "src": source,
        "unit": unit,
        "ticks": ticks,
        "top": "",
        "bottom": "",
        "text": say("picture.scale", low=low_text, high=high_text),
    }


def _range_text(site: Site, drawn: Drawn) -> str:
    if drawn.unit != "degC":
        return site.words.say("picture.thumb_unscaled")
    low, high = _end_texts(site, drawn)
    return site.words.say("picture.thumb", low=low, high=high)


def _alt(site: Site, drawn: Drawn, record: ThermogramRecord, finding: Finding | None = None) -> str:
    names = (
        [finding.region or site.words.say("picture.this_finding")]
        if finding
        else [one.name for one in record.regions if one.shape != "whole"]
    )
    regions = site.words.count("picture.alt_regions", len(names), names=", ".join(names[:12])) if names else ""
    name = "picture.alt" if drawn.unit == "degC" else "picture.alt_unscaled"
    low, high = _end_texts(site, drawn)
    return site.words.say(
        name,
        title=site.picture_name(record.id),
        width=drawn.width,
        height=drawn.height,
        low=low,
        high=high,
        regions=regions,
    ).strip()


def _alt_crop(site: Site, drawn: Drawn, record: ThermogramRecord) -> str:
    name = "picture.alt_crop" if drawn.unit == "degC" else "picture.alt_crop_unscaled"
    low, high = _end_texts(site, drawn)
    return site.words.say(name, title=site.picture_name(record.id), low=low, high=high)
