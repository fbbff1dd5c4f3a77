"""A tick, written once in the algebra: one file a subject, with the names of `host_tools/model`."""
