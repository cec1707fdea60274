"""Example files that ship with the package; places, packets and growers in them are invented."""
