"""`python -m simrun` is the same door as `simrun`."""

import sys

from simrun.cli import main

if __name__ == "__main__":
    sys.exit(main())
