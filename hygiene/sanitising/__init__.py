"""Strengths, dilutions, ageing, active chlorine, contact, lines: pure arithmetic."""
