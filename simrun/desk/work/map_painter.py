"""Paint one page of a PDF as a JPEG: a process of its own, run by its path, because its reader is not ours.

In: the file on the standard input, the page's number as the argument. Out: the count of pages on the first
line, then the picture. Whatever a hostile file does here it does with so much memory and time, and no more.
"""

import contextlib
import sys

MOST_PAGES, LONGEST_PX, LARGEST_SCALE = 400, 3000, 8.0
MOST_BYTES, MOST_CPU_S = 3_000_000_000, 15


def bounded() -> None:
    """As little as is needed, where the system knows such bounds."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main() -> int:
    """0: painted; 3: no such page; 4: too many pages; anything else: it could not be read."""
    import pypdfium2

    bounded()
    document = pypdfium2.PdfDocument(sys.stdin.buffer.read())
    number, pages = int(sys.argv[1]), len(document)
    if pages > MOST_PAGES:
        return 4
    if not 1 <= number <= pages:
        return 3
    page = document[number - 1]
    scale = min(LARGEST_SCALE, LONGEST_PX / max(1.0, *page.get_size()))
    picture = page.render(scale=scale, may_draw_forms=False).to_pil().convert("RGB")
    sys.stdout.buffer.write(f"{pages}\n".encode())
    picture.save(sys.stdout.buffer, "JPEG", quality=88)
    return 0


if __name__ == "__main__":
    sys.exit(main())
