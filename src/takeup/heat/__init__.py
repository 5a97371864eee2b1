"""Wall temperature, condensation, rings and cones on hot pipe."""
