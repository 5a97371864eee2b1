"""One module per damage mechanism, and the verdict that combines them."""
