"""The command line: reads arguments, makes one call into a job, shows its result."""
