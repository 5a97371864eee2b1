"""The invented demo site, made by code from a seed."""
