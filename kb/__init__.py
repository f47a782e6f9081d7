"""Fettlebook: a folder of Markdown service bulletins in, answers for one unit and a static site out."""

__version__ = "0.1.0"
