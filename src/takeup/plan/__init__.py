"""Portfolio, calendar, schedule."""
