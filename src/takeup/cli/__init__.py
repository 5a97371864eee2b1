"""The command line face over desk."""
