"""One module for each picture format: from the bytes of a file's head to what it says."""
