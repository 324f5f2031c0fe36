-- Entries made afterwards from the sheet on paper: who did the work and when, where that is not who
-- entered it and when.

ALTER TABLE bench_entry ADD COLUMN done_at TEXT;
ALTER TABLE bench_entry ADD COLUMN done_by INTEGER REFERENCES person (id);
