-- What asks for the work that may need a shutdown, and for the next rebuild, beside what governs: the
-- lists of a shutdown window read them instead of reckoning the facts of every gauge they name.
-- Derived like the rest of this table; made anew once when the program starts, compared by verify.
ALTER TABLE due ADD COLUMN work_rule TEXT;
ALTER TABLE due ADD COLUMN work_date TEXT
  CONSTRAINT due_work_date CHECK (work_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]')
  CONSTRAINT due_work CHECK ((work_rule IS NULL) = (work_date IS NULL));
ALTER TABLE due ADD COLUMN rebuild_rule TEXT;
ALTER TABLE due ADD COLUMN rebuild_date TEXT
  CONSTRAINT due_rebuild_date CHECK (rebuild_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]')
  CONSTRAINT due_rebuild CHECK ((rebuild_rule IS NULL) = (rebuild_date IS NULL));
