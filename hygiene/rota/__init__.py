"""What is to be done in the shed, on which day, and whether it was done."""
