"""Answers that are made of several: the one room that may import kinds."""
