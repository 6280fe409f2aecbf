"""An invented farm and a year of its record, for the demonstration and for tests.

``year.build`` makes the record through the acts that a user's commands go through.
It is data, not part of the package: ``hygiene/cli/demo.py`` loads it from where it was
shipped. README.md lists the troubles that are planted in the year.
"""
