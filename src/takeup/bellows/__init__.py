"""Bellows mechanics: geometry, rule sets, movements, stiffness, thrust."""
