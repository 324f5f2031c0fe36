-- A calibration recorded by mistake, on the wrong instrument or day, stays readable with who took it back
-- and why, and covers nothing. Once something relied on it, that is a recall's affair.
ALTER TABLE calibration ADD COLUMN taken_back_at TEXT;
ALTER TABLE calibration ADD COLUMN taken_back_by INTEGER REFERENCES person (id);
ALTER TABLE calibration ADD COLUMN taken_back_why TEXT CONSTRAINT calibration_taken_back
  CHECK (taken_back_why IS NULL OR length(trim(taken_back_why)) BETWEEN 3 AND 2000);

DROP TRIGGER calibration_unchanged;
CREATE TRIGGER calibration_unchanged BEFORE UPDATE ON calibration
WHEN old.taken_back_at IS NOT NULL OR new.taken_back_at IS NULL OR new.instrument_id <> old.instrument_id
  OR new.calibrated_on <> old.calibrated_on OR new.due_on <> old.due_on OR new.reference <> old.reference
  OR new.found <> old.found OR new.note <> old.note OR new.person_id <> old.person_id OR new.at <> old.at
  OR new.uncertainty IS NOT old.uncertainty OR new.uncertainty_unit IS NOT old.uncertainty_unit
  OR new.coverage IS NOT old.coverage BEGIN
  SELECT RAISE (ABORT, 'calibration-kept: a calibration is evidence and is not changed; record another');
END;
CREATE TRIGGER calibration_relied_on BEFORE UPDATE OF taken_back_at ON calibration
WHEN new.found <> 'within-tolerance'
  OR EXISTS (SELECT 1 FROM instrument_use u WHERE u.instrument_id = new.instrument_id AND u.used_on >= new.calibrated_on) BEGIN
  SELECT RAISE (ABORT, 'calibration-kept: something relied on this calibration; a recall decides what becomes of it');
END;

DROP TRIGGER calibration_covers;
CREATE TRIGGER calibration_covers AFTER INSERT ON calibration BEGIN
  UPDATE calibration_cover
  SET until_on = (SELECT iif(found = 'within-tolerance', due_on, '') FROM calibration
                  WHERE instrument_id = new.instrument_id AND taken_back_at IS NULL ORDER BY calibrated_on DESC, id DESC LIMIT 1)
  WHERE instrument_id = new.instrument_id;
END;
CREATE TRIGGER calibration_covers_no_more AFTER UPDATE OF taken_back_at ON calibration BEGIN
  UPDATE calibration_cover
  SET until_on = coalesce((SELECT iif(found = 'within-tolerance', due_on, '') FROM calibration
                  WHERE instrument_id = new.instrument_id AND taken_back_at IS NULL ORDER BY calibrated_on DESC, id DESC LIMIT 1), '')
  WHERE instrument_id = new.instrument_id;
END;
DROP TRIGGER instrument_recovered;
CREATE TRIGGER instrument_recovered AFTER UPDATE OF retired_at, kind ON instrument BEGIN
  DELETE FROM calibration_cover WHERE instrument_id = new.id;
  INSERT INTO calibration_cover (instrument_id, kind, until_on)
  SELECT new.id, new.kind,
         coalesce((SELECT iif(found = 'within-tolerance', due_on, '') FROM calibration
                   WHERE instrument_id = new.id AND taken_back_at IS NULL ORDER BY calibrated_on DESC, id DESC LIMIT 1), '')
  WHERE new.retired_at IS NULL;
END;

DROP VIEW use_in_doubt;
CREATE VIEW use_in_doubt AS
SELECT r.id AS recall_id, u.id AS use_id, u.rebuild_id, u.test_id, u.used_on
FROM recall r
JOIN instrument_use u ON u.instrument_id = r.instrument_id AND u.used_on >= coalesce(r.since_on, '')
WHERE u.used_on <= r.until_on
  OR NOT EXISTS (
    SELECT 1 FROM calibration good
    WHERE good.instrument_id = r.instrument_id AND good.calibrated_on BETWEEN r.until_on AND u.used_on
      AND good.found = 'within-tolerance' AND good.taken_back_at IS NULL
      AND NOT EXISTS (
        SELECT 1 FROM calibration after
        WHERE after.instrument_id = good.instrument_id AND after.calibrated_on = good.calibrated_on AND after.id > good.id
          AND after.taken_back_at IS NULL
      )
  );
