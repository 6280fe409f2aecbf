"""The record: the only room that touches SQLite."""
