"""The race day on paper: read, checked, frozen."""
