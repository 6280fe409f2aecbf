"""The record of hygiene and feed safety of a shed that sprouts barley for fodder."""

__version__ = "0.1.0"
