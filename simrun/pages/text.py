"""How do paragraphs and tables stand on a terminal? A line apart, and as aligned columns."""

from __future__ import annotations


def paragraphs(*parts: str) -> str:
    """These one below the other, a line apart; what has nothing to say takes no room."""
    return "\n\n".join(part for part in parts if part)


def table_text(rows: list[list[str]], left: int = 1) -> str:
    """Rows as aligned columns, the first `left` to the left, the others to the right; row 0 is the head."""
    widths = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if c < left else cell.rjust(width)
            for c, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    lines.insert(1, "-" * max(len(line) for line in lines))
    return "\n".join(lines)
