"""Other ways to plan the same weekends: a rule of thumb, and general-purpose solvers on models that one would write."""
