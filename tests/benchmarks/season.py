"""How well degree days are counted from weather files: `python tests/benchmarks/season.py [--json]`.

Every weather file that comes with pvlib is read by `heatbrief.estimate.weather` and by pvlib's own reader: TMY3
files as they are, the TMY2 file written out as a plain table, and each of them once more written out as EPW and read
by both. Compared are heating and cooling degree days by daily mean and by hours, with bases of 18.3 and 15.5 degC,
where the reference has at least one of them; the gap is relative to it. pvlib is a reference for tests only.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from heatbrief.estimate.weather import cooling_degrees, heating_degrees, read_weather
from heatbrief.physics.degree_days import cooling_degree_days, heating_degree_days

BASES = (18.0 + 1.0 / 3.0, 15.5)
KELVIN = 273.15
LEAST = 1.0
"""Degree days [K d] below which a relative gap says nothing."""
MOST_GAP = 1e-9


def reference_days(celsius: np.ndarray, base: float) -> list[float]:
    """Degree days straight from their definition, with pandas' own days: daily mean and hourly, heating and cooling."""
    import pandas as pd

    series = pd.Series(celsius, index=pd.date_range("2025-01-01", periods=celsius.size, freq="h"))
    daily = series.resample("D").mean()
    return [
        float((base - daily).clip(lower=0).sum()),
        float((daily - base).clip(lower=0).sum()),
        float((base - series).clip(lower=0).sum()) / 24,
        float((series - base).clip(lower=0).sum()) / 24,
    ]


def own_days(celsius: np.ndarray, base: float) -> list[float]:
    """The same by heatbrief."""
    kelvin = celsius + KELVIN
    return [
        heating_degree_days(kelvin, base + KELVIN),
        cooling_degree_days(kelvin, base + KELVIN),
        heating_degrees(celsius, base),
        cooling_degrees(celsius, base),
    ]


def as_table(celsius: np.ndarray) -> str:
    """A plain table in degC."""
    start = np.datetime64("2025-01-01T00:00")
    return "time,temperature (C)\n" + "".join(
        f"{start + np.timedelta64(n, 'h')},{value!r}\n" for n, value in enumerate(celsius.tolist())
    )


def as_epw(celsius: np.ndarray) -> str:
    """A file in EPW form: eight lines of heading, 35 columns, dry-bulb in the seventh."""
    head = [
        "LOCATION,Nowhere,NA,NA,made,0,0.0,0.0,0.0,0.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    start = np.datetime64("2025-01-01T00:00")
    for n, value in enumerate(celsius.tolist()):
        day = (start + np.timedelta64(n, "h")).astype("datetime64[D]").item()
        head.append(
            f"2025,{day.month},{day.day},{n % 24 + 1},0,?,{value!r}," + ",".join(["5.0", "50", "101325"] + ["0"] * 25)
        )
    return "\n".join(head) + "\n"


def cases(folder: Path) -> Iterator[tuple[str, np.ndarray, np.ndarray]]:
    """(name, temperatures as heatbrief reads them, as pvlib reads them)"""
    import pvlib

    data = Path(pvlib.__file__).parent / "data"
    found = []
    for path in sorted([*data.glob("7*TY*.[cC][sS][vV]")]):
        frame, _ = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
        found.append(
            (path.name, read_weather(path.read_text("latin-1"), path.name).celsius, frame["temp_air"].to_numpy())
        )
    for path in sorted(data.glob("*.tm2")):
        frame, _ = pvlib.iotools.read_tmy2(path)
        celsius = frame["DryBulb"].to_numpy() / 10.0
        found.append((f"{path.name} as a table", read_weather(as_table(celsius), path.name).celsius, celsius))
    yield from found
    for name, _, celsius in found:
        path = folder / "weather.epw"
        path.write_text(as_epw(celsius), "utf-8")
        frame, _ = pvlib.iotools.read_epw(path)
        yield f"{name} as EPW", read_weather(path.read_text("utf-8"), name).celsius, frame["temp_air"].to_numpy()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="only the last line, as JSON")
    only_json = parser.parse_args().json
    rows = []
    try:
        with tempfile.TemporaryDirectory() as folder:
            for name, own, reference in cases(Path(folder)):
                gaps = [
                    abs(a - b) / b
                    for base in BASES
                    for a, b in zip(own_days(own, base), reference_days(reference, base), strict=True)
                    if b >= LEAST
                ]
                rows.append((name, reference_days(reference, BASES[0]), max(gaps)))
    except ImportError as error:
        print(f"pvlib and pandas are needed as the reference: {error}", file=sys.stderr)
        return 2
    worst = max(gap for _, _, gap in rows)
    if not only_json:
        for name, days, gap in rows:
            print(
                f"{name:32} HDD {days[0]:8.2f}  CDD {days[1]:8.2f}  by hours {days[2]:8.2f} {days[3]:8.2f} K d"
                f"   gap {gap:.1e}"
            )
    files = sum(" as EPW" not in name for name, _, _ in rows)
    print(json.dumps({"weather_files": files, "readings": len(rows), "max_relative_gap": worst}))
    return 0 if worst <= MOST_GAP else 1


if __name__ == "__main__":
    raise SystemExit(main())
