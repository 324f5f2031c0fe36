-- A failure, a look-over and a calibration are taken back as a whole, with who did it and why, or not at all;
-- and each keeps its row.
CREATE TRIGGER failure_taken_back_whole BEFORE UPDATE ON failure
WHEN new.id <> old.id OR (new.taken_back_at IS NULL) <> (new.taken_back_by IS NULL)
  OR (new.taken_back_at IS NULL) <> (new.taken_back_why IS NULL) BEGIN
  SELECT RAISE (ABORT, 'failure-unchanged: a failure is taken back with who did it and why');
END;

DROP TRIGGER look_over_unchanged;
CREATE TRIGGER look_over_unchanged BEFORE UPDATE ON look_over
WHEN old.taken_back_at IS NOT NULL OR new.taken_back_at IS NULL OR new.taken_back_by IS NULL OR new.taken_back_why IS NULL
  OR new.id <> old.id OR new.gauge_id <> old.gauge_id OR new.on_date <> old.on_date OR new.found <> old.found
  OR new.note <> old.note OR new.person_id <> old.person_id OR new.at <> old.at BEGIN
  SELECT RAISE (ABORT, 'look-over-unchanged: a look-over is never changed');
END;

DROP TRIGGER calibration_unchanged;
CREATE TRIGGER calibration_unchanged BEFORE UPDATE ON calibration
WHEN old.taken_back_at IS NOT NULL OR new.taken_back_at IS NULL OR new.taken_back_by IS NULL OR new.taken_back_why IS NULL
  OR new.id <> old.id OR new.instrument_id <> old.instrument_id
  OR new.calibrated_on <> old.calibrated_on OR new.due_on <> old.due_on OR new.reference <> old.reference
  OR new.found <> old.found OR new.note <> old.note OR new.person_id <> old.person_id OR new.at <> old.at
  OR new.uncertainty IS NOT old.uncertainty OR new.uncertainty_unit IS NOT old.uncertainty_unit
  OR new.coverage IS NOT old.coverage BEGIN
  SELECT RAISE (ABORT, 'calibration-kept: a calibration is evidence and is not changed; record another');
END;
