"""Figures and documents: one module per document."""
