"""The only place that imports a scheduling or integer-programming solver."""
