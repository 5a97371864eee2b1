"""The tablet walk: lives offline."""
