"""The command line: one module to a verb, each read only when its verb is asked for."""
