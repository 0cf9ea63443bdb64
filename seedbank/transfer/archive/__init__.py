"""Everything out as an archive of tables, and the whole of a society in again."""
