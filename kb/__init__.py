"""Fettlebook: a folder of Markdown bulletins in, answers for one unit and a static site out."""

__version__ = "0.2.0"
