"""Run the command line with ``python -m coilmeter``."""

import sys

from coilmeter.cli import main

if __name__ == "__main__":
    sys.exit(main())
