"""Run the command line with ``python -m sunup``."""

from sunup.cli.main import main

if __name__ == "__main__":
    main()
