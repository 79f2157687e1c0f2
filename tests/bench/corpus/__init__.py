"""Thousands of odd and hostile files, each of which has to be answered: fetched, made, checked, traced, counted."""
