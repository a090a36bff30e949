"""Print the lowest version of everything that a pyproject.toml asks for, as constraints that pip reads."""

import re
import sys
import tomllib
from pathlib import Path

project = tomllib.loads(Path(sys.argv[1]).read_text("utf-8"))["project"]
for text in project["dependencies"]:
    name, lowest = re.match(r"([\w-]+)>=([\w.]+)", text).groups()
    print(f"{name}=={lowest}")
