"""What `import clearance` offers: corners, questions, answers. The command line is its first client."""
