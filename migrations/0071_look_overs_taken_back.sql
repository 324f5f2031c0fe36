-- A look-over recorded by mistake, on the wrong gauge or day, stays readable with who took it back and
-- why; the interval counts from the one before it.
ALTER TABLE look_over ADD COLUMN taken_back_at TEXT;
ALTER TABLE look_over ADD COLUMN taken_back_by INTEGER REFERENCES person (id);
ALTER TABLE look_over ADD COLUMN taken_back_why TEXT CONSTRAINT look_over_taken_back
  CHECK (taken_back_why IS NULL OR length(trim(taken_back_why)) BETWEEN 3 AND 2000);
DROP TRIGGER look_over_unchanged;
CREATE TRIGGER look_over_unchanged BEFORE UPDATE ON look_over
WHEN old.taken_back_at IS NOT NULL OR new.gauge_id <> old.gauge_id OR new.on_date <> old.on_date OR new.found <> old.found OR new.note <> old.note OR new.person_id <> old.person_id OR new.at <> old.at BEGIN
  SELECT RAISE (ABORT, 'look-over-unchanged: a look-over is never changed');
END;
