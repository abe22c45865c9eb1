"""A plan that meets the night: what happened, where everything is, and how to go on from there."""
