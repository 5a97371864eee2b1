"""The web face over desk: parse, call, show. Loads nothing from outside."""
