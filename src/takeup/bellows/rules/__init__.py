"""One module per standard and edition."""
