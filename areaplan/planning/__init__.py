"""Where "how high, how far" meets "how much is enough": the project, the plan, its findings."""
