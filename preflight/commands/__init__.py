"""What each command does, apart from reading its options. Imported one at a time, so that ``--version`` stays quick."""
