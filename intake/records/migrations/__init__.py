"""The numbered steps of the tables, run by `intake.records.migrate`; a released step is never edited."""
