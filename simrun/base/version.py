"""Which version of simrun is this?"""

VERSION = "0.1.0"
