"""Reports: what is known of an artwork, for people and for scripts."""
