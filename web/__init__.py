"""The web: plan a weekend on a laptop, run it from a phone at the pit, print it for the wall.

It imports `scheduler` and is never imported by it, but for the command `serve`, which does so when it runs.
"""
