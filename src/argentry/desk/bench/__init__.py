"""The live run: open it, add what happens, say what comes next."""
