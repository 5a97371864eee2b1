"""What readings show: check lists, marks, interply tests, temperature histories."""
