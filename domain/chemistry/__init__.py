"""The chemistry of the tank: what is dissolved, what its pH is, what a dose does to it."""
