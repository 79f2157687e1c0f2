"""One pass over the strips, many questions. Kept empty so that the catalogue can be read without imaging libraries."""
