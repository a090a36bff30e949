"""`python -m simrun` is the same door as `simrun`."""

from simrun.cli import run

if __name__ == "__main__":
    run()
