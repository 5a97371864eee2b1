"""How joints age: survival statistics, fatigue use, creep."""
