"""Pure functions of physics, with their units, sources and worked examples. Arrays in, arrays out."""
