"""Manifests for the openly licensed measurements; each test copies the pictures into a folder of its own."""

from __future__ import annotations

FACADE = """\
format: 1
property: {name: Rooftop observatory}
inspect: [envelope]
conditions: {outside_air: 30 degC, sky: partly cloudy, sun: direct}
defaults: {scale: {values: degC}, size: [320, 240], shows: wall and roof of the neighbouring block}
thermograms:
  - {file: "view1_*.csv", sequence: view one}
  - {file: "view2_*.csv", sequence: view two}
"""
# Lin et al. (2023), Scientific Data 10:859, doi 10.1038/s41597-023-02749-0, MIT licence

CASTLE = """\
format: 1
property: {name: Castle wall}
inspect: [envelope]
conditions: {inside_air: 15 degC}
camera: {noise: 50 mK, accuracy: 2 K}
defaults:
  scale: {kelvin_per_count: 0.025, zero_at: -100 degC}
  emissivity: 1.0
  size: [640, 512]
thermograms:
  - {file: 10-50-42-994_raw16.tiff, visible: 10-50-42-994_visible.jpg, shows: painted wall}
  - {file: 11-00-42-741_raw16.tiff, shows: painted wall}
  - {file: 11-03-09-891_raw16.tiff, shows: painted wall}
  - {file: 11-07-08-152_raw16.tiff, shows: painted wall}
  - {file: 11-08-05-747_raw16.tiff, shows: painted wall}
  - {file: 11-16-44-880_raw16.tiff, shows: painted wall}
"""
# Sutherland et al. (2025), Metrology 5, 43, doi 10.3390/metrology5030043, MIT licence

LEAF = """\
format: 1
property: {name: Leaf in sunlight}
inspect: [plumbing]
conditions: {outside_air: 28 degC, sun: direct}
defaults: {scale: {values: degC}, size: [640, 480], shows: leaf}
thermograms:
  - {file: "L1_*.csv", sequence: leaf one}
"""
# Page, Lienard, Pruett, Moffett (2018), doi 10.5281/zenodo.1167842, MIT licence

RIVER = """\
format: 1
property: {name: River with a warm inflow}
inspect: [plumbing]
thermograms:
  - {file: "*_raw16.tiff", shows: water}
  - {file: "*_biasremoved16.tiff", shows: water}
"""
# Abolt et al., groundwater inputs by thermal imaging; data by GitHub user chuckaustin, MIT licence

VEHICLES = """\
format: 1
property: {name: Car park from above}
inspect: [vehicle]
thermograms:
  - {file: "*.png", shows: car park from above}
"""
# Suo et al. (2023), Scientific Data 10:227, doi 10.1038/s41597-023-02066-6, CC BY 4.0
