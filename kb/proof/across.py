"""Rules across bulletins in force: what contradicts, repeats or leaves out what another says."""
