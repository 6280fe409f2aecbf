"""The farm as it was set up: what is in force at a moment, and its farm file."""
