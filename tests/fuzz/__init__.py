"""The parsers that this project wrote itself, given what nobody would write: a short run here, a long one by hand."""
