"""Where the hub goes: linkages, tables and steering."""
