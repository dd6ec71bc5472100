"""A MkDocs theme: `theme: {name: heatbrief_site}`."""
