"""The people: how fast, how wide, how quick off the mark, on which line, and by what name."""
