"""What is kept: walks, units, sightings, every value with its evidence, and every change with who made it."""
