"""Run the command line with ``python -m maps``."""

from maps.commands import main

if __name__ == "__main__":
    main()
