"""`python -m kb`, for where scripts are not on the path."""

from kb.cli import main

main()
