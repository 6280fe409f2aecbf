"""Data in and out: tables of what stands, and what a spreadsheet says to write."""
