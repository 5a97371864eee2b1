"""Properties of metals: tables with a source per row, interpolation, refusal outside."""
