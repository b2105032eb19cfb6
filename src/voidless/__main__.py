"""Run the command line with ``python -m voidless``."""

from voidless.cli import main

if __name__ == "__main__":
    main()
