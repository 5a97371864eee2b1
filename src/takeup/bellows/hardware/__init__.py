"""Hardware of a joint: where the thrust goes, what each part carries, what a defect takes away."""
