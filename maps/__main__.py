"""Run the command line with ``python -m maps``."""

from maps.cli import main

if __name__ == "__main__":
    main()
