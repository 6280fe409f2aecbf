"""Water and its tests: results as written, counts, readings, toxins in feed."""
