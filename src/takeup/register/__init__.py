"""Entities, revisions, store, workbook and CSV exchange."""
