"""``python -m takeup.cli``."""

from takeup.cli import main

main()
