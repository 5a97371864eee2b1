"""Migrations of the store, run by the store itself when it is opened."""
