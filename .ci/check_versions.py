"""Is what is installed exactly what a file of versions says? If not: a line a difference, and exit code 1."""

import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

wrong = []
for line in Path(sys.argv[1]).read_text("utf-8").splitlines():
    name, _, wanted = line.partition("==")
    if wanted:
        try:
            found = version(name)
        except PackageNotFoundError:
            found = "nothing"
        if found != wanted:
            wrong.append(f"{name}: {found} is installed, {wanted} was tried")
print("\n".join(wrong) or "versions: as tried")
sys.exit(bool(wrong))
