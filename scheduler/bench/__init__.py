"""The benchmark: seeded invented weekends, the search and its peers on each, and whether all results can be true."""
