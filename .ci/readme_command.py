"""Print the README's command of this number (1: the main job, 2: the tests) as it stands there."""

import re
import sys
from pathlib import Path

text = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
blocks = re.findall(r"```sh\n(.*?)```", text, flags=re.DOTALL)
print(blocks[int(sys.argv[1]) - 1].strip())
