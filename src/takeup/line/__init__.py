"""Line mechanics: model, solver, code stress, what-if, diagnosis."""
