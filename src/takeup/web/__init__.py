"""The web face over desk."""
