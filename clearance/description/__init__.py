"""The corner file: TOML to a mock-up, with the file, line and key of everything that is wrong."""
