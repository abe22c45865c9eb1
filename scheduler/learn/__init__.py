"""After the weekend: the kitchen's own ranges from its log, whether plans keep their promise, and fair trials."""
